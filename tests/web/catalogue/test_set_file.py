"""A pair set as one file: what goes and what stays is told, credits go along, and it comes into another hall as it was."""

from __future__ import annotations

import csv
import shutil
import zipfile
from collections.abc import Iterator
from contextlib import closing
from io import BytesIO, StringIO
from pathlib import Path

import pytest
from sqlalchemy import select, update

from drillhall.store.models.catalogue import CataloguePictureRow, CatalogueRow, PairSetRow, StageRow
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.session import Store
from tests.cast import KEEPER, STRANGER
from tests.checks.test_qti import check_package
from tests.hall import MADE_AT
from tests.visits import Hall, open_hall

HERE = "/catalogues/small-estuary/sets/fiddlers"


@pytest.fixture
def estuary(built_hall: Path, tmp_path: Path) -> Iterator[Hall]:
    folder = Path(shutil.copytree(built_hall, tmp_path / "hall"))
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    hall = open_hall(store, folder)
    hall.clock.at = MADE_AT
    yield hall
    store.close()


def someone_elses_all_rights_reserved(hall: Hall) -> str:
    """Let one practice picture of the set be somebody else's, who agreed to groups alone; return its file."""
    with hall.store.work() as db:
        first = select(CataloguePictureRow).join(PictureRow, PictureRow.id == CataloguePictureRow.picture_id)
        row = db.scalars(first.where(PictureRow.use == "practice").order_by(PictureRow.id)).first()
        assert row is not None
        rights = {"creator": "Ferenc Halvorsen", "licence": "", "licence_url": "", "agreed": "group", "granted_by": "him"}
        db.execute(update(RightsRow).where(RightsRow.picture_id == row.picture_id).values(**rights))
        db.execute(update(PictureRow).where(PictureRow.id == row.picture_id).values(owner_id=None))
        db.execute(update(StageRow).values(poses=["standing"], distances=["near"]))
        return row.file


def the_file(hall: Hall) -> bytes:
    with closing(hall.enter(KEEPER, known=True).get(f"{HERE}/file.zip")) as answer:
        return answer.get_data()


def unpacked(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(BytesIO(content)) as packed:
        return {name.partition("/")[2]: packed.read(name) for name in packed.namelist()}


def test_what_rights_keep_here_is_named_and_left_out(estuary: Hall) -> None:
    file = someone_elses_all_rights_reserved(estuary)
    keeper = estuary.enter(KEEPER, known=True)
    page = keeper.get(f"{HERE}/file").text
    assert "1 picture stays" in page
    assert f"({file})" in page
    assert "by Ferenc Halvorsen" in page
    files = unpacked(the_file(estuary))
    assert f"pictures/{file}" not in files
    rows = list(csv.DictReader(StringIO(files["pictures.csv"].decode())))
    assert {f"pictures/{row['file']}" for row in rows} == {name for name in files if name.startswith("pictures/")}
    assert all(row["dc:creator"] and row["photoshop:Credit"] and row["dcterms:rights"] for row in rows)
    assert not [row for row in rows if row["use"] == "held-out"]


def test_it_comes_into_another_hall_as_it_was(estuary: Hall, hall: Hall) -> None:
    someone_elses_all_rights_reserved(estuary)
    content = the_file(estuary)
    there = hall.enter(STRANGER)
    answer = there.post("/catalogues", {"zip": (BytesIO(content), "set.zip")}, content_type="multipart/form-data")
    assert answer.status_code == 303, answer.text
    assert there.post(answer.location).status_code == 303
    with hall.store.look() as db:
        assert db.scalars(select(CatalogueRow.key)).all() == ["small-estuary-fiddlers"]
        assert db.scalars(select(PairSetRow.key)).all() == ["fiddlers"]
        assert all((row.poses, row.distances) == (["standing"], ["near"]) for row in db.scalars(select(StageRow)))
        assert all(row.credit for row in db.scalars(select(RightsRow)))
    with closing(there.get("/catalogues/small-estuary-fiddlers/export")) as answer:
        again = answer.get_data()
    assert unpacked(again)["pair-sets.toml"] == unpacked(content)["pair-sets.toml"]
    assert unpacked(again)["pictures.csv"] == unpacked(content)["pictures.csv"]


@pytest.mark.parametrize("page", ["file", "file.zip"])
def test_nobody_else_gets_the_file_and_no_such_set_is_there(estuary: Hall, page: str) -> None:
    assert estuary.enter(STRANGER, known=True).get(f"{HERE}/{page}").status_code == 404
    assert estuary.enter(KEEPER, known=True).get(f"{HERE}x/{page}").status_code == 404


def test_questions_leave_as_items_where_rights_let_their_pictures_go(estuary: Hall) -> None:
    stays = someone_elses_all_rights_reserved(estuary)
    with closing(estuary.enter(KEEPER, known=True).get(f"{HERE}/items.zip")) as answer:
        assert answer.headers["Content-Disposition"].endswith("fiddlers-items.zip")
        with zipfile.ZipFile(BytesIO(answer.get_data())) as packed:
            files = {name: packed.read(name) for name in packed.namelist()}
    items = check_package(files)
    told = files["credits.txt"].decode()
    assert f"{stays}: " in told.partition("Left out")[2]
    assert stays not in told.partition("Left out")[0]
    with estuary.store.look() as db:
        held = select(PictureRow.id).join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        practice = len(db.scalars(held.where(PictureRow.use == "practice")).all())
        alts = set(db.scalars(select(PictureRow.alt).where(PictureRow.use == "practice")))
    assert sum(name.startswith("pictures/") for name in files) == practice - 1, "all but the one that stays; no portrait, none held out"
    assert len(items) >= practice - 1, "a picture is asked about in each pair of its form"
    for item in items:
        words = "".join(item.itertext()) + item.attrib["title"]
        assert "fiddler" in words
        assert [one.get("alt") in alts for one in item.iter() if one.tag.endswith("}img")] == [True], "the words of the drill, no others"
    assert estuary.enter(STRANGER, known=True).get(f"{HERE}/items.zip").status_code == 404
