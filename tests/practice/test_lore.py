"""What a catalogue says of its pairs reaches the drill as it says it now, corrected names and withdrawn states included."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.acts.import_catalogue import import_catalogue
from drillhall.core.values import PairLore
from drillhall.people import accounts
from drillhall.pictures.storage import FolderStorage
from drillhall.practice.lore import lore_of_pairs
from drillhall.store.models.concepts import PairRow
from drillhall.store.session import Store
from tests import cast
from tests.catalogues import folders
from tests.catalogues.folders import CATALOGUE

AT = datetime(2031, 3, 3, 8, 0, tzinfo=UTC)


def _lore(store: Store, tmp_path: Path, *texts: str) -> PairLore:
    """Import a catalogue in one version after another and return what is said of its pair then."""
    with store.work() as db:
        keeper = accounts.make_account(db, name=cast.KEEPER.name, passphrase=cast.KEEPER.passphrase, at=AT, is_keeper=True)
    for text in texts:
        folder = folders.write(tmp_path / "in", catalogue=text, rows=(), files={})
        with store.work() as db:
            imported = import_catalogue(db, FolderStorage(tmp_path / "kept"), folder, by=keeper.id, at=AT)
    with store.look() as db:
        (pair_id,) = db.scalars(select(PairRow.id))
        return lore_of_pairs(db, imported.catalogue_id, [pair_id])[pair_id]


def test_a_corrected_name_is_the_one_that_is_shown(store: Store, tmp_path: Path) -> None:
    lore = _lore(store, tmp_path, CATALOGUE.replace("Lesser Oozer", "Leser Oozer"), CATALOGUE)
    assert {form.name for form in (lore.pair.first, lore.pair.second)} == {"Lesser Oozer", "Greater Oozer"}


def test_names_differ_from_form_to_form_of_one_concept(store: Store, tmp_path: Path) -> None:
    text = CATALOGUE.replace('"Fictavis pallida"', '"Fictavis grandis"')
    lore = _lore(store, tmp_path, text)
    assert {form.name for form in (lore.pair.first, lore.pair.second)} == {"Lesser Oozer", "Greater Oozer"}


def test_a_withdrawn_state_is_asked_no_more(store: Store, tmp_path: Path) -> None:
    more = CATALOGUE.replace('{ key = "pale", label = "pale" }', '{ key = "pale", label = "pale" }, { key = "red", label = "red" }')
    lore = _lore(store, tmp_path, more, CATALOGUE)
    assert [state.key for state in lore.trait("legs").states] == ["dark", "pale"]


@pytest.mark.parametrize("subject", ["bird", "other animal"])
def test_a_trait_knows_what_its_catalogue_is_about(sqlite_store: Store, tmp_path: Path, subject: str) -> None:
    lore = _lore(sqlite_store, tmp_path, CATALOGUE.replace('subject = "bird"', f'subject = "{subject}"'))
    assert {trait.subject for trait in lore.traits} == {subject}
