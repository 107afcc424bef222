"""An export of everything about a person: each row of each table, her own pictures, and nothing of anybody else's."""

from __future__ import annotations

import csv
import io
import json
import tracemalloc
import zipfile
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import insert, select, update

from drillhall.acts.export_person import TOP, export_person
from drillhall.pictures.storage import FolderStorage
from drillhall.store.base import Row
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.models.practice import AnswerRow
from drillhall.store.queries.about import LOOKED_UP, by_table, count_about
from drillhall.store.session import Store
from tests.acts.pictures import jpeg
from tests.filled import AT, Filler

HER_ID = 987654321
HERS = "Quendrida"


@pytest.fixture
def filler(store: Store) -> Filler:
    """A keeper and her, both in every table."""
    with store.work() as db:
        filler = Filler(db)
        filler.fill(lambda _: "Runa", is_keeper=True)
        filler.fill(lambda table: HERS if table in by_table() or table == "group" else "", id=HER_ID)
        db.execute(update(FileRow).values(rendition="as taken"))
        db.execute(update(RightsRow).values(licence="CC0-1.0", agreed="", may_until=None))
    return filler


def export(store: Store, storage: FolderStorage, told: list[str] | None = None) -> zipfile.ZipFile:
    content, said = io.BytesIO(), [] if told is None else told
    with store.look() as db:
        export_person(db, storage, content, HER_ID, name=HERS, on=AT.date(), at=AT, progress=lambda _, __, what: said.append(what))
    return zipfile.ZipFile(content)


def rows(packed: zipfile.ZipFile, name: str) -> list[dict[str, Any]]:
    return list(json.loads(packed.read(f"{TOP}/{name}.json")))


def told_columns(table: str) -> list[str]:
    """Return every column of a table as the model has it, without those that are said to be left out."""
    left_out = {column for one in by_table()[table] for column in one.but}
    return [column.name for column in Row.metadata.tables[table].columns if column.name not in left_out]


def test_every_row_about_her_is_in_it_as_json_and_as_csv(store: Store, storage: FolderStorage, filler: Filler) -> None:
    packed = export(store, storage)
    with store.look() as db:
        counts = count_about(db, HER_ID)
    about = json.loads(packed.read(f"{TOP}/about.json"))
    for table, count in counts.items():
        found = rows(packed, f"data/{table}")
        lines = list(csv.reader(io.StringIO(packed.read(f"{TOP}/data/{table}.csv").decode())))
        assert count > 0
        assert len(found) == count == len(lines) - 1 == about["rows"][f"data/{table}"], table
        assert lines[0] == list(found[0]) == told_columns(table)
        for row, cells in zip(found, lines[1:], strict=True):
            numbers = [(str(value), cell) for value, cell in zip(row.values(), cells, strict=True) if type(value) in (int, float)]
            assert [value for value, _ in numbers] == [cell for _, cell in numbers], table
    assert packed.testzip() is None


def test_nothing_of_anybody_else_is_in_it_and_no_secret(store: Store, storage: FolderStorage, filler: Filler) -> None:
    packed = export(store, storage)
    told = {name: packed.read(name).decode() for name in packed.namelist() if "/data/" in name}
    assert not [name for name, text in told.items() if "Runa" in text]
    assert HERS in told[f"{TOP}/data/account.json"]
    with store.look() as db:
        secrets = {
            db.execute(select(column).where(column.is_not(None)).order_by(column.desc())).scalars().first()
            for table in Row.metadata.tables.values()
            for column in table.columns
            if column.name.endswith("_hash")
        }
    assert len(secrets) > 3
    assert not [name for name, text in told.items() if any(f'"{secret}"' in text for secret in secrets)]


def test_what_its_numbers_mean_is_looked_up(store: Store, storage: FolderStorage, filler: Filler) -> None:
    packed = export(store, storage)
    pairs = {row["id"] for row in rows(packed, "looked-up/pair")}
    forms = {row["id"] for row in rows(packed, "looked-up/form")}
    assert {row["pair_id"] for row in rows(packed, "data/memory")} <= pairs
    assert {row["form_id"] for row in rows(packed, "data/showing")} <= forms
    assert {row["concept_id"] for row in rows(packed, "looked-up/form")} == {row["concept_id"] for row in rows(packed, "looked-up/name")}
    assert all(rows(packed, f"looked-up/{name}") for name in LOOKED_UP)
    with store.work() as db:  # one that she has nothing to do with
        filler.db = db
        another = filler.add(Row.metadata.tables["group"], "of others")
    assert another["id"] not in {row["id"] for row in rows(export(store, storage), "looked-up/group")}


def test_her_pictures_are_in_it_with_the_file_as_it_came_and_those_she_withdrew(
    store: Store, storage: FolderStorage, filler: Filler
) -> None:
    with store.work() as db:
        hers = db.execute(
            select(PictureRow.id, PictureRow.public_id, FileRow.id.label("file"))
            .join(FileRow, FileRow.picture_id == PictureRow.id)
            .where(PictureRow.owner_id == HER_ID)
        ).one()
        key = f"aa/{hers.public_id}/original.jpg"
        db.execute(update(FileRow).where(FileRow.id == hers.file).values(size_name="original", storage_key=key, media_type="image/jpeg"))
    storage.put(key, jpeg(3))
    packed = export(store, storage)
    assert packed.read(f"{TOP}/pictures/pictures/{hers.public_id}-original.jpg") == jpeg(3)
    assert HERS in packed.read(f"{TOP}/pictures/credits.txt").decode()
    with store.work() as db:
        db.execute(update(PictureRow).where(PictureRow.id == hers.id).values(retired_at=AT))
    packed = export(store, storage)
    assert packed.read(f"{TOP}/withdrawn/pictures/{hers.public_id}-original.jpg") == jpeg(3)


def test_a_lost_file_keeps_nothing_else_from_her(store: Store, storage: FolderStorage, filler: Filler) -> None:
    told: list[str] = []
    packed = export(store, storage, told)
    assert rows(packed, "data/file")
    assert {"account", "answer"} <= set(told)


def test_a_cell_that_a_spreadsheet_would_reckon_is_made_harmless(store: Store, storage: FolderStorage, filler: Filler) -> None:
    with store.work() as db:
        db.execute(update(RightsRow).values(credit='=HYPERLINK("x")'))
    packed = export(store, storage)
    assert rows(packed, "data/rights")[0]["credit"] == '=HYPERLINK("x")'
    lines = list(csv.DictReader(io.StringIO(packed.read(f"{TOP}/data/rights.csv").decode())))
    assert lines[0]["credit"] == '\'=HYPERLINK("x")'


def test_many_answers_are_not_held_in_memory(sqlite_store: Store, tmp_path: Path) -> None:
    with sqlite_store.work() as db:
        filler = Filler(db)
        filler.fill(lambda _: HERS, id=HER_ID)
        db.execute(update(RightsRow).values(data_mining="", agreed=""))
    storage, one = FolderStorage(tmp_path / "kept"), filler.rows["answer"]

    def peak() -> int:
        tracemalloc.start()
        with sqlite_store.look() as db, (tmp_path / "all.zip").open("wb") as file:
            export_person(db, storage, file, HER_ID, name=HERS, on=AT.date(), at=AT, progress=lambda *_: None)
        held = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return held

    peak()  # what is made once, such as the words of each statement, is there from now on
    few = peak()
    with sqlite_store.work() as db:
        db.execute(insert(AnswerRow), [one | {"id": f"{number:036}"} for number in range(4_000)])
    many = peak()
    with zipfile.ZipFile(tmp_path / "all.zip") as packed:
        size = packed.getinfo(f"{TOP}/data/answer.json").file_size
    assert size > 1_000_000
    assert many - few < size / 2
