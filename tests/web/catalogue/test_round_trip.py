"""Whatever is written in the browser comes out as a folder, and goes into an empty hall as the same rows."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.acts.import_catalogue import import_catalogue
from drillhall.pictures.storage import FolderStorage
from drillhall.store.base import Row
from drillhall.store.models import catalogue as rows
from drillhall.store.models.concepts import ConceptRow, FormRow, NameRow, VernacularRow
from drillhall.store.session import Store
from tests import cast
from tests.catalogues.invented import LINES, NEEDED, TEXT
from tests.visits import MORNING, Hall, open_hall
from tests.web.catalogue.writing import HEAD, PAIR, TELLING, Written, write_gulls

WORDS = st.sampled_from(["always", "usually", "often", "sometimes", "", "19 of 20", "3/40", "mostly"])
FORMS = st.sampled_from(["grey_weirgull_adult", "pale_weirgull", "new_one", "nobody"])
TRAITS = st.sampled_from(["wing_tip", "new_one"])

CELLS = [f"chance.{form}.wing_tip.{state}" for form in ("grey_weirgull_adult", "pale_weirgull") for state in ("black", "white")]
NAME = st.one_of(NEEDED, st.just("new one"))
FORM = {
    "taxon_rank": st.just("species"),
    "vernacular_name": NAME,
    "scientific_name": NEEDED,
    "plumage": TEXT,
    "variant": TEXT,
    "length_mm": st.sampled_from(["", "180"]),
    "note": LINES,
}
TRAIT = {"part": st.just("bill"), "kind": st.just("structure"), "label": NAME, "state.0.label": NEEDED, "state.1.label": NEEDED}
PAIR_SAID = {"note": LINES, "third_share": st.sampled_from(["0", "5", "7.5"]), "third.0.form": FORMS, "third.0.trait": TRAITS}
TONGUES = st.sampled_from(["de", "pt-BR"])
SAID = {"label": NEEDED, "ask": TEXT, "state.black.label": TEXT, "state.white.label": NEEDED, "state.white.also": TEXT}
ABOUT = {name: st.just(value) for name, value in HEAD.items()} | {
    "title": NEEDED,
    "note": LINES,
    "language": st.sampled_from(["pt-BR", "x"]),
}


def sends(pages: st.SearchStrategy[str], fields: dict[str, st.SearchStrategy[str]]) -> st.SearchStrategy[tuple[str, dict[str, str]]]:
    """Send a page's form."""
    return st.tuples(pages, st.fixed_dictionaries(fields))


ACTS = st.one_of(
    sends(st.just("/about"), ABOUT),
    sends(st.just("/forms/new"), FORM),
    sends(st.just("/traits/new"), TRAIT | {"state.1.also": TEXT}),
    sends(TONGUES.map("/languages/{}/traits/wing_tip".format), SAID),
    sends(TONGUES.map(f"/languages/{{}}{PAIR}".format), {"note": LINES}),
    sends(TRAITS.map("/traits/{}/forms".format), dict.fromkeys(CELLS, WORDS)),
    sends(st.just("/pairs/new"), {"first": FORMS, "second": FORMS}),
    sends(st.just(PAIR), PAIR_SAID),
    sends(FORMS.map("/things/forms/{}/retire".format), {}),
    sends(st.builds("/things/{}/{}/move".format, st.sampled_from(["forms", "traits"]), FORMS), {"to": st.just("earlier")}),
    sends(st.integers(1, 9).map("/history/{}/undo".format), {}),
)


THIRD = {"vernacular_name": "New one", "scientific_name": "Larus tertius", "taxon_rank": "species"}
BEGUN = (
    ("/forms/new", THIRD),
    (PAIR, TELLING | {"third.0.form": "new_one", "third.0.trait": "wing_tip", "note": "Wait until it flies.", "third_share": "7.5"}),
)
"""What is there before anything is drawn: words, a count, a third, a note."""


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(acts=st.lists(ACTS, min_size=3, max_size=8))
def test_what_was_written_goes_round_by_a_zip(empty_sqlite: Path, tmp_path: Path, acts: list[tuple[str, dict[str, str]]]) -> None:
    with _new_hall(empty_sqlite, tmp_path / "one") as one, _new_hall(empty_sqlite, tmp_path / "two") as two:
        written = write_gulls(one.enter(cast.LEADER))
        for page, fields in (*BEGUN, *acts):
            assert written.post(page, fields).status_code in {303, 404, 409, 422}, page
        zipped = _export(written, tmp_path / "given-back.zip")
        by = two.add(cast.LEADER)
        with two.store.work() as db:
            import_catalogue(db, FolderStorage(tmp_path / "kept"), zipped, by=by.id, at=MORNING)
        with one.store.look() as here, two.store.look() as there:
            assert _rows(there) == _rows(here)
            assert _rows(there)["catalogue_form"] or not _rows(there)["catalogue_pair"]


@contextmanager
def _new_hall(empty: Path, folder: Path) -> Iterator[Hall]:
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    store = Store(f"sqlite:///{shutil.copy(empty, folder / 'hall.sqlite')}")
    yield open_hall(store, folder)
    store.close()


def _export(written: Written, path: Path) -> Path:
    answer = written.get("/export")
    path.write_bytes(answer.data)
    answer.close()
    return path


NAMED: dict[str, tuple[type[Row], tuple[str, ...]]] = {
    "catalogue_id": (rows.CatalogueRow, ("key",)),
    "form_id": (FormRow, ("concept_id", "sex", "life_stage", "plumage", "variant")),
    "concept_id": (ConceptRow, ("taxon_concept_id",)),
    "name_id": (NameRow, ("scientific_name", "according_to", "taxon_rank")),
    "vernacular_id": (VernacularRow, ("name", "language")),
    "catalogue_form_id": (rows.CatalogueFormRow, ("key",)),
    "trait_id": (rows.TraitRow, ("key",)),
    "state_id": (rows.StateRow, ("key", "trait_id")),
    "catalogue_pair_id": (rows.CataloguePairRow, ("key",)),
}
"""A column that points to a row → that row, and what it is known by in any hall."""

TABLES = (
    rows.CatalogueRow,
    rows.TraitRow,
    rows.StateRow,
    rows.CatalogueFormRow,
    rows.FormTraitRow,
    rows.CataloguePairRow,
    rows.ThirdRow,
)
UNSAID = {"id", "pair_id", "made_at", "changed_at", "retired_at"}


def _rows(db: Session) -> dict[str, list[str]]:
    """Return the rows in use of a catalogue's tables, with names in the place of ids."""
    return {table.__tablename__: sorted(map(repr, filter(None, (_said(db, row) for row in db.scalars(select(table)))))) for table in TABLES}


def _said(db: Session, row: Any) -> dict[str, Any] | None:
    """Return what a row says; nothing where it, or a row that it belongs to, is retired."""
    found: dict[str, Any] = {}
    if getattr(row, "retired_at", None) is not None:
        return None
    for column in [attribute.key for attribute in row.__mapper__.column_attrs]:
        value = getattr(row, column)
        if column in UNSAID:
            continue
        if column not in NAMED or value is None:
            found[column] = value
            continue
        kind, names = NAMED[column]
        other = _named(db, db.get_one(kind, value), names)
        if other is None:
            return None
        found[column] = other
    return found


def _named(db: Session, row: Any, names: tuple[str, ...]) -> Any:
    if getattr(row, "retired_at", None) is not None:
        return None
    said = []
    for name in names:
        value = getattr(row, name)
        kind = NAMED.get(name)
        said.append(_named(db, db.get_one(kind[0], value), kind[1]) if kind else value)
    return None if None in said else said
