"""Pair sets made and changed in the browser: stages, places, a suggested order, and what is refused."""

from __future__ import annotations

import re

import pytest
from sqlalchemy import select

from drillhall.people import accounts
from drillhall.pictures.ingest import rights_row
from drillhall.practice.shelf import list_sets, take_set
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePairRow, CataloguePictureRow, CatalogueRow, StageRow
from drillhall.store.models.pictures import PictureRow, PictureShareRow
from drillhall.store.queries.learner import taken_pairs
from tests.cast import LEADER, STRANGER
from tests.pictures.drawn import OPEN
from tests.visits import MORNING, Hall
from tests.web.catalogue.writing import PAIR, TELLING, Written

YOUNG = {"vernacular_name": "Young Weirgull", "scientific_name": "Larus iuvenis", "taxon_rank": "species", "life_stage": "juvenile"}
SET = {"title": "First gulls", "title.1": "To begin", "stage.grey_weirgull_adult:pale_weirgull": "1"}


@pytest.fixture
def gulls(gulls: Written) -> Written:
    """Two pairs, of which the second is of a juvenile."""
    gulls.post("/forms/new", YOUNG)
    gulls.post("/pairs/new", {"first": "young_weirgull_juvenile", "second": "pale_weirgull"})
    gulls.post(PAIR, TELLING)
    return gulls


def stages(hall: Hall) -> list[str]:
    with hall.store.look() as db:
        return list(db.scalars(select(StageRow.title).order_by(StageRow.place)))


def test_a_set_stands_on_the_shelf(hall: Hall, gulls: Written) -> None:
    assert gulls.post("/sets/new", SET).status_code == 303
    with hall.store.look() as db:
        assert [(one.title, one.pairs, one.stages) for one in list_sets(db, 1)] == [("First gulls", 1, ("To begin",))]
    assert "added by" in gulls.words("/history")


def test_pairs_stand_where_they_were_put(hall: Hall, gulls: Written) -> None:
    second = "stage.young_weirgull_juvenile:pale_weirgull"
    place = second.replace("stage.", "place.")
    gulls.post("/sets/new", SET | {second: "1", place: "1"})
    page = gulls.get("/sets/first-gulls").text
    assert f'name="{place}" value="1"' in page
    assert 'name="place.grey_weirgull_adult:pale_weirgull" value="2"' in page
    gulls.post("/sets/first-gulls", SET | {second: "2", "title.2": "Then the young"})
    assert stages(hall) == ["To begin", "Then the young"]
    gulls.post("/sets/first-gulls", SET | {"title": "Gulls"})
    assert stages(hall) == ["To begin"]
    assert "title: First gulls" in gulls.words("/history")


def test_an_order_is_suggested_and_not_kept(hall: Hall, gulls: Written) -> None:
    page = gulls.get("/sets/new?suggested=yes").text
    assert 'value="One trait decides"' in page
    assert 'value="The hard sex or age"' in page
    assert stages(hall) == []


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"title": " "}, "Title is empty"),
        ({"title.1": ""}, "needs a title"),
        ({"title.1": "x" * 201}, "needs a title"),
        ({"stage.grey_weirgull_adult:pale_weirgull": ""}, "at least one pair"),
        ({"stage.grey_weirgull_adult:pale_weirgull": "9"}, "Pale Weirgull: a stage is a number from 1 to 8"),
        ({"stage.grey_weirgull_adult:pale_weirgull": "1, two"}, "several have commas between"),
        ({"place.grey_weirgull_adult:pale_weirgull": "first"}, "a place any number from 1"),
        ({"stage.grey_weirgull_adult:pale_weirgull": "7"}, "Stage 7 holds pairs and needs a title"),
        ({"stage.grey_weirgull_adult:pale_weirgull": "7"}, 'name="title.7"'),  # as many titles are asked for as stages were named
    ],
)
def test_a_set_that_cannot_be_is_refused(hall: Hall, gulls: Written, change: dict[str, str], why: str) -> None:
    answer = gulls.post("/sets/new", SET | change)
    assert (answer.status_code, why in answer.text) == (422, True)
    assert stages(hall) == []


def test_a_retired_set_leaves_the_shelf_and_comes_back(hall: Hall, gulls: Written) -> None:
    gulls.post("/sets/new", SET)
    gulls.post("/things/sets/first-gulls/retire")
    with hall.store.look() as db:
        assert list_sets(db, 1) == ()
    assert gulls.get("/sets/first-gulls").status_code == 404
    gulls.post("/sets/new", SET)
    assert gulls.get("/sets/first-gulls-2").status_code == 200  # a key once used means that set for ever


def test_a_catalogue_out_of_use_leaves_the_drills_of_those_who_took_it(hall: Hall, gulls: Written) -> None:
    gulls.post("/sets/new", SET)
    with hall.store.work() as db:
        (shelved,) = list_sets(db, 1)
        take_set(db, 1, shelved.id, at=MORNING)
    counts = [_drilled(hall)]
    for act in ("/retire", "/take-back"):
        gulls.visitor.post(gulls.where + act)
        counts.append(_drilled(hall))
    assert counts == [1, 0, 1]


def _drilled(hall: Hall) -> int:
    with hall.store.look() as db:
        return len(taken_pairs(db, 1, on=MORNING.date()))


def test_two_at_one_set_see_both(gulls: Written) -> None:
    gulls.post("/sets/new", SET)
    answer = gulls.post("/sets/first-gulls", SET | {"title": "Other", "version": "0" * 24})
    assert (answer.status_code, "Somebody was quicker." in answer.text) == (409, True)


BOTH = "grey_weirgull_adult:pale_weirgull"
TWO_STAGES = SET | {
    f"stage.{BOTH}": "1, 2",
    f"place.{BOTH}": "1,1",
    "title.2": "In flight",
    "poses.1": "swimming",
    "poses.2": "flying, soaring",
}


def test_a_stage_holds_the_poses_and_distances_that_were_typed(hall: Hall, gulls: Written) -> None:
    assert gulls.post("/sets/new", TWO_STAGES | {"far.2": "yes"}).status_code == 303
    with hall.store.look() as db:
        rows = db.scalars(select(StageRow).order_by(StageRow.place)).all()
        assert [(row.poses, row.distances) for row in rows] == [(["swimming"], []), (["flying", "soaring"], ["far"])]
    page = gulls.get("/sets/first-gulls").text
    assert f'name="stage.{BOTH}" value="1, 2"' in page
    assert 'name="far.2" value="yes" checked' in page
    assert "holds no picture of" in page
    gulls.post("/sets/first-gulls", TWO_STAGES)
    assert "In flight (flying, soaring, from far alone)" in gulls.words("/history"), "what it held before"


def a_picture(hall: Hall, owner: str, vernacular: str, number: int, *, pose: str = "", held: bool = False, shared: int = 0) -> None:
    """Add a described practice picture of a form, in the catalogue, shared with a group, or her own alone."""
    with hall.store.work() as db:
        entry = db.scalars(select(CatalogueFormRow).where(CatalogueFormRow.key == vernacular)).one()
        of = {"owner_id": accounts.the_person_called(db, owner).id, "form_id": entry.form_id, "pose": pose}
        row = PictureRow(public_id=f"{number:036d}", width_px=9, height_px=9, content_sha256=f"{number:064d}", fingerprint=number, **of)
        row.made_at = row.described_at = hall.clock()
        db.add(row)
        db.flush()
        rights = rights_row(OPEN)
        rights.picture_id = row.id
        db.add(rights)
        if held:
            db.add(CataloguePictureRow(catalogue_id=entry.catalogue_id, picture_id=row.id, file=f"{number}.webp"))
        if shared:
            db.add(PictureShareRow(picture_id=row.id, group_id=shared, shared_at=hall.clock()))


def test_what_the_catalogue_cannot_show_names_every_reason_and_the_pictures_there_are(hall: Hall, gulls: Written) -> None:
    gulls.post("/sets/new", TWO_STAGES)
    page = gulls.words("/sets/first-gulls")
    assert "rests: To begin holds no picture of Grey Weirgull" in page
    assert "; In flight holds no picture of Grey Weirgull" in page
    assert "Add pictures, and put them into the catalogue" in page
    gulls.visitor.post("/groups", {"title": "Sluice", "kind": "club"})
    a_picture(hall, LEADER.name, "grey_weirgull_adult", 1, shared=1)
    a_picture(hall, LEADER.name, "grey_weirgull_adult", 2)
    a_picture(hall, LEADER.name, "pale_weirgull", 3, pose="flying", held=True)
    page = gulls.words("/sets/first-gulls")
    assert re.search(r"Grey Weirgull\W+adult *: 1 is shared with groups of yours; 1 is yours and seen by nobody else", page)
    assert re.search(r"Pale Weirgull *: the catalogue holds 1, in another pose", page)
    assert "drilled by its people, and by them alone" in page
    a_picture(hall, LEADER.name, "grey_weirgull_adult", 4, pose="flying", held=True)
    page = gulls.words("/sets/first-gulls")
    assert "is asked in another stage" in page
    assert " rests" not in page
    for number, form in ((5, "grey_weirgull_adult"), (6, "pale_weirgull")):
        a_picture(hall, LEADER.name, form, number, pose="swimming", held=True)
    assert "What this catalogue cannot show yet" not in gulls.words("/sets/first-gulls")


def test_a_pair_in_two_stages_that_hold_the_same_is_refused(hall: Hall, gulls: Written) -> None:
    answer = gulls.post("/sets/new", TWO_STAGES | {"poses.2": "swimming"})
    assert (answer.status_code, "let its stages hold pictures of different poses" in answer.text) == (422, True)
    assert stages(hall) == []


def test_a_copy_is_changed_by_itself(hall: Hall, gulls: Written) -> None:
    gulls.post("/sets/new", TWO_STAGES)
    answer = gulls.post("/sets/first-gulls/copy")
    assert (answer.status_code, answer.location) == (303, f"{gulls.where}/sets/first-gulls-copy")
    gulls.post("/sets/first-gulls-copy", SET | {"title": "Gulls by autumn"})
    with hall.store.look() as db:
        assert [(one.title, one.stages) for one in list_sets(db, 1)] == [
            ("First gulls", ("To begin", "In flight")),
            ("Gulls by autumn", ("To begin",)),
        ]
    assert gulls.post("/sets/no-such/copy").status_code == 404


def test_its_link_shows_it_to_anybody_in_the_hall_and_to_nobody_else(hall: Hall, gulls: Written) -> None:
    gulls.post("/sets/new", TWO_STAGES)
    found = re.search(r"http://localhost(/catalogues/shared-sets/\d+)", gulls.get("/sets/first-gulls/file").text)
    assert found
    page = hall.enter(STRANGER).get(found[1]).text
    for words in ("First gulls", "In flight", "Only pictures: flying, soaring.", "Grey Weirgull", "Take this set"):
        assert words in page, words
    assert hall.visitor().get(found[1]).location.startswith("/sign-in")
    gulls.post("/things/sets/first-gulls/retire")
    assert hall.enter(STRANGER, known=True).get(found[1]).status_code == 404


def test_somebody_else_copies_it_into_a_catalogue_of_her_own(hall: Hall, gulls: Written) -> None:
    gulls.post("/sets/new", TWO_STAGES)
    found = re.search(r"http://localhost(/catalogues/shared-sets/\d+)", gulls.get("/sets/first-gulls/file").text)
    assert found
    other = hall.enter(STRANGER)
    assert "Copy it into a catalogue of mine" in other.get(found[1]).text
    answer = other.post(f"{found[1]}/copy")
    assert (answer.status_code, answer.location) == (303, "/catalogues/first-gulls")
    page = other.get("/catalogues/first-gulls").text
    for words in ("Copied from the pair set “First gulls” of the catalogue “Gulls of the weir”", "Grey Weirgull", "Pale Weirgull"):
        assert words in page, words
    changed = Written(other, "/catalogues/first-gulls").post("/sets/first-gulls", SET | {"title": "Mine"})
    assert changed.status_code == 303
    with hall.store.look() as db:
        assert {one.title for one in list_sets(db, 1)} == {"First gulls", "Mine"}, "the other stays as it was"
        copied = db.scalars(select(CatalogueRow).where(CatalogueRow.key == "first-gulls")).one()
        held = select(CataloguePictureRow.picture_id).where(CataloguePictureRow.catalogue_id == copied.id)
        assert db.scalars(held).all() == [], "no picture comes along"
        entries = db.execute(select(CataloguePairRow.catalogue_id, CataloguePairRow.pair_id)).all()
    theirs = {pair for catalogue, pair in entries if catalogue != copied.id}
    assert {pair for catalogue, pair in entries if catalogue == copied.id} <= theirs, "the same pairs: what was learnt goes on"
    assert gulls.get("").status_code == 200
    assert hall.enter(STRANGER, known=True).get(gulls.where).status_code == 404, "what it was copied from is still not hers"
    assert other.post(f"{found[1]}/copy").location == "/catalogues/first-gulls-2"
    assert other.post("/catalogues/shared-sets/99/copy").status_code == 404
