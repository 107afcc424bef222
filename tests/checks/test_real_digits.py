"""Real look-alikes from outside: scanned digits, written as a catalogue's folder, go into the hall and come out the same.

Source of the pictures: scikit-learn's `load_digits`, see tests/digits.py.
"""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.acts.export_catalogue import export_catalogue
from drillhall.acts.import_catalogue import import_catalogue
from drillhall.catalogues.checking import check
from drillhall.catalogues.reading import read_folder
from drillhall.catalogues.writing import open_sink
from drillhall.people import accounts
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.catalogue import CataloguePairRow, CataloguePictureRow, StagePairRow, StageRow
from drillhall.store.models.concepts import FormRow, PairRow
from drillhall.store.models.pictures import MarkRow, PictureRow
from drillhall.store.session import Store
from tests import cast
from tests.digits import NAMES, PAIRS, STAGES, WHERE, scans_of, write_digits_catalogue

AT = datetime(2031, 3, 3, 8, 0, tzinfo=UTC)
PRACTICE, PORTRAITS, HELD_OUT = 12, 3, 2


@pytest.fixture(scope="module")
def digits(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with fewer pictures than a hall would want, so that the test is quick."""
    folder = tmp_path_factory.mktemp("digits") / "scanned-digits"
    return write_digits_catalogue(folder, practice=PRACTICE, portraits=PORTRAITS, held_out=HELD_OUT)


def test_the_set_is_the_one_described() -> None:
    # Source: the description of the set in scikit-learn 1.9: 1,797 instances of ten digits.
    assert sum(len(scans_of(digit)) for digit in range(10)) == 1797


def test_the_folder_has_no_fault(digits: Path) -> None:
    with closing(read_folder(digits)) as folder:
        assert check(folder).lines == ()
        uses = [(picture.form, picture.use) for picture in folder.catalogue.pictures]
    for name in NAMES:
        assert [uses.count((name, use)) for use in ("practice", "portrait", "held-out")] == [PRACTICE, PORTRAITS, HELD_OUT]


def test_the_digits_go_in_and_come_out_the_same(store: Store, digits: Path, tmp_path: Path) -> None:
    storage = FolderStorage(tmp_path / "pictures")
    with store.work() as db:
        keeper = accounts.make_account(db, name=cast.KEEPER.name, passphrase=cast.KEEPER.passphrase, at=AT, is_keeper=True)
        imported = import_catalogue(db, storage, digits, by=keeper.id, at=AT)
    pictures = 10 * (PRACTICE + PORTRAITS + HELD_OUT)
    with store.look() as db:
        assert imported.pictures_added == pictures
        assert _counts(db) == {
            FormRow: 10,
            PairRow: len(PAIRS),
            CataloguePairRow: len(PAIRS),
            StageRow: len(STAGES),
            StagePairRow: len(PAIRS),
            PictureRow: pictures,
            CataloguePictureRow: pictures,
            MarkRow: pictures * len(WHERE),
        }
        with open_sink(tmp_path / "out", "scanned-digits") as sink:
            export_catalogue(db, storage, "scanned-digits", sink, by=keeper.id, on=AT.date(), with_originals=True)
    with closing(read_folder(digits)) as given, closing(read_folder(tmp_path / "out")) as back:
        assert back.catalogue == given.catalogue
        assert all(back.digest(picture) == given.digest(picture) for picture in given.catalogue.pictures)
    before = sorted(storage.keys())
    with store.work() as db:
        again = import_catalogue(db, storage, tmp_path / "out", by=keeper.id, at=AT)
    assert again.changes.is_nothing
    assert sorted(storage.keys()) == before


def _counts(db: Session) -> dict[type, int]:
    kinds = (FormRow, PairRow, CataloguePairRow, StageRow, StagePairRow, PictureRow, CataloguePictureRow, MarkRow)
    return {kind: db.scalar(select(func.count()).select_from(kind)) or 0 for kind in kinds}
