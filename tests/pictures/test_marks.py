"""Marks are drawn by owner and stewards on what they may mark, lie on the picture or are refused, and go along in open files."""

from __future__ import annotations

import csv
import json
from datetime import date
from io import BytesIO, StringIO
from pathlib import Path

import pytest
from PIL import Image
from sqlalchemy import select

from drillhall.core.regions import Region
from drillhall.errors import Invalid, NotFound
from drillhall.pictures import marks
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.rendered import keep_rendered
from drillhall.pictures.renditions import MadeSize
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.catalogue import TraitRow
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.session import Store
from drillhall.words import speak
from tests.pictures.drawn import NOW, OPEN, PRIVATE, PUBLIC_ID, accept, add_account, add_catalogue, add_form, saved, scene

DAY = date(2031, 5, 4)
THERE = Region(0.25, 0.5, 0.125, 0.25)
ADDRESS = "https://hall.example/my-pictures/1"


class Marked:
    """A hall with a picture in a catalogue, its owner, a steward of that catalogue, and one of another."""

    def __init__(self, store: Store, folder: Path) -> None:
        self.store, self.storage = store, FolderStorage(folder)
        with store.work() as db:
            self.owner, self.steward, self.stranger = (add_account(db, name) for name in ("owner", "steward", "stranger"))
            form = add_form(db)
            self.catalogue = add_catalogue(db, steward_id=self.steward, form_ids=(form,))
            other = add_catalogue(db, key="other", steward_id=self.stranger)
            self.bill = self._trait(db, self.catalogue, "bill")
            self.elsewhere = self._trait(db, other, "legs")
            about = {"public_id": PUBLIC_ID, "owner_id": self.owner, "form_id": form, "rights": OPEN, "at": NOW}
            self.picture = add_picture(db, self.storage, take(saved(scene())), **about)  # type: ignore[arg-type]
            accept(db, self.catalogue, self.picture)

    @staticmethod
    def _trait(db, catalogue_id: int, key: str) -> int:  # type: ignore[no-untyped-def]
        row = TraitRow(catalogue_id=catalogue_id, key=key, label=key.capitalize(), part=key, kind="structure")
        db.add(row)
        db.flush()
        return row.id

    def set(self, who: int, trait_id: int | None, region: Region = THERE) -> None:
        with self.store.work() as db:
            marks.set_mark(db, self.storage, who, PUBLIC_ID, trait_id=trait_id, region=region, on=DAY)

    def seen(self, who: int) -> marks.Marking:
        with self.store.look() as db:
            return marks.the_marking(db, who, PUBLIC_ID, on=DAY)


@pytest.fixture
def marked(sqlite_store: Store, tmp_path: Path) -> Marked:
    return Marked(sqlite_store, tmp_path / "pictures")


def test_owner_and_steward_may_mark_the_traits_that_hold_the_form(marked: Marked) -> None:
    for who in (marked.owner, marked.steward):
        assert [(one.trait_id, one.label) for one in marked.seen(who).markable] == [(None, "which one is meant"), (marked.bill, "Bill")]
        marked.set(who, marked.bill)
    assert [mark.region for mark in marked.seen(marked.owner).marks] == [THERE]


def test_a_mark_for_the_same_trait_takes_the_place_of_the_first(marked: Marked) -> None:
    marked.set(marked.owner, None)
    marked.set(marked.owner, None, Region(0.5, 0.5, 0.5, 0.5))
    assert [mark.region for mark in marked.seen(marked.owner).marks] == [Region(0.5, 0.5, 0.5, 0.5)]


@pytest.mark.parametrize("region", [Region(0.9, 0.5, 0.2, 0.2), Region(0.1, -0.1, 0.2, 0.2), Region(0.1, 0.1, 0.0, 0.2)])
def test_a_mark_outside_the_picture_is_refused(marked: Marked, region: Region) -> None:
    with pytest.raises(Invalid) as told:
        marked.set(marked.owner, marked.bill, region)
    assert told.value.field == "region"
    assert not marked.seen(marked.owner).marks


def test_a_trait_that_does_not_belong_is_refused(marked: Marked) -> None:
    for trait in (marked.elsewhere, 10_000):
        with pytest.raises(Invalid) as told:
            marked.set(marked.owner, trait)
        assert told.value.field == "trait"


def test_a_stranger_neither_sees_nor_draws_nor_takes_away(marked: Marked) -> None:
    marked.set(marked.owner, marked.bill)
    mark = marked.seen(marked.owner).marks[0].id
    with pytest.raises(NotFound):
        marked.seen(marked.stranger)
    with pytest.raises(NotFound):
        marked.set(marked.stranger, None)
    with pytest.raises(NotFound), marked.store.work() as db:
        marks.remove_mark(db, marked.storage, marked.stranger, PUBLIC_ID, mark, on=DAY)


def test_a_steward_does_not_mark_what_its_rights_keep_from_her(marked: Marked) -> None:
    from drillhall.pictures.rights import write_rights

    storage = FolderStorage(Path(marked.store.url.removeprefix("sqlite:///")).parent / "pictures")
    with marked.store.work() as db:
        write_rights(db, storage, marked.picture, PRIVATE)
    with pytest.raises(NotFound):
        marked.seen(marked.steward)
    assert marked.seen(marked.owner).is_own


def test_a_mark_is_taken_away_once(marked: Marked) -> None:
    marked.set(marked.owner, marked.bill)
    mark = marked.seen(marked.owner).marks[0].id
    with marked.store.work() as db:
        marks.remove_mark(db, marked.storage, marked.steward, PUBLIC_ID, mark, on=DAY)
    assert not marked.seen(marked.owner).marks
    with pytest.raises(NotFound), marked.store.work() as db:
        marks.remove_mark(db, marked.storage, marked.owner, PUBLIC_ID, mark, on=DAY)


def test_a_picture_of_several_is_refused_until_one_is_marked(marked: Marked) -> None:
    with marked.store.work() as db:
        db.get_one(PictureRow, marked.picture).several = True
    assert "which one is meant" in marked.seen(marked.owner).refused
    marked.set(marked.owner, None)
    assert marked.seen(marked.owner).refused == ""


def test_marks_go_along_as_regions(marked: Marked) -> None:
    marked.set(marked.owner, marked.bill)
    with marked.store.look() as db:
        told = marks.regions_file(db, marked.owner, PUBLIC_ID, address=ADDRESS, on=DAY)
    row = next(csv.DictReader(StringIO(told)))
    # Source: TDWG, Audiovisual Core, list of terms 2026-02-24; its subject part has no bill, the nearest is the head, p0013.
    assert row["ac:isROIOf"] == ADDRESS
    assert row["ac:subjectPart"] == "http://rs.tdwg.org/acpart/values/p0013"
    assert [row[f"ac:{side}Frac"] for side in ("x", "y", "width", "height")] == ["0.250000", "0.500000", "0.125000", "0.250000"]


def test_a_trait_that_is_called_like_a_formula_is_none_in_a_table(marked: Marked) -> None:
    marked.set(marked.owner, marked.bill)
    with marked.store.work() as db:
        db.get_one(TraitRow, marked.bill).label = '=HYPERLINK("x")'
    with marked.store.look() as db:
        told = marks.regions_file(db, marked.owner, PUBLIC_ID, address=ADDRESS, on=DAY)
    assert '\'=HYPERLINK("x")' in next(csv.DictReader(StringIO(told))).values()


def test_marks_go_along_as_annotations(marked: Marked) -> None:
    marked.set(marked.owner, marked.bill)
    with marked.store.look() as db:
        told = json.loads(marks.annotations_file(db, marked.owner, PUBLIC_ID, address=ADDRESS, on=DAY))
    assert told["items"][0]["target"]["selector"][0]["value"] == "xywh=pixel:200,300,100,150"
    assert told["items"][0]["body"][0]["value"] == "Bill"


def test_marks_are_told_in_the_language_of_whoever_draws_and_go_along_as_the_catalogue_says_them(marked: Marked) -> None:
    marked.set(marked.owner, marked.bill)
    with marked.store.work() as db:
        db.get_one(TraitRow, marked.bill).said = {"de": {"label": "Schnabel"}}
    with speak("de"):
        seen = marked.seen(marked.owner)
        with marked.store.look() as db:
            given = json.loads(marks.annotations_file(db, marked.owner, PUBLIC_ID, address=ADDRESS, on=DAY))
    assert [seen.marks[0].label, seen.markable[1].label] == ["Schnabel", "Schnabel"]
    assert given["items"][0]["body"][0]["value"] == "Bill"
    assert marked.seen(marked.owner).marks[0].label == "Bill"


def test_without_marks_the_files_are_empty_and_whole(marked: Marked) -> None:
    with marked.store.look() as db:
        assert marks.regions_file(db, marked.owner, PUBLIC_ID, address=ADDRESS, on=DAY).count("\r\n") == 1
        assert json.loads(marks.annotations_file(db, marked.owner, PUBLIC_ID, address=ADDRESS, on=DAY))["items"] == []


def test_another_subject_takes_away_what_was_made_as_from_afar(marked: Marked) -> None:
    def renditions() -> list[str]:
        with marked.store.look() as db:
            return list(db.scalars(select(FileRow.rendition).where(FileRow.rendition != "as taken")))

    def keep_one() -> None:
        with marked.store.work() as db:
            picture = db.get_one(PictureRow, marked.picture)
            keep_rendered(db, marked.storage, picture, [MadeSize("far-1", "0" * 32, plain_webp(), 40, 30)], rendition="far off")

    keep_one()
    marked.set(marked.owner, marked.bill)
    assert renditions() == ["far off"], "a mark for a trait says nothing of how large the bird is"
    marked.set(marked.owner, None)
    assert renditions() == []
    keep_one()
    with marked.store.work() as db:
        subject = next(one for one in marks.the_marking(db, marked.owner, PUBLIC_ID, on=DAY).marks if one.label != "Bill")
        marks.remove_mark(db, marked.storage, marked.owner, PUBLIC_ID, subject.id, on=DAY)
    assert renditions() == []


def plain_webp() -> bytes:
    out = BytesIO()
    Image.new("RGB", (40, 30), "grey").save(out, "WEBP")
    return out.getvalue()
