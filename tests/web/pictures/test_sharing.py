"""Sharing, offering and correcting over HTTP: what is told, and what is refused."""

from __future__ import annotations

import re
from datetime import date

import pytest
from sqlalchemy import select

from drillhall.core.licences import ALL_RIGHTS_RESERVED
from drillhall.core.rights import Rights
from drillhall.people import accounts, groups
from drillhall.pictures import ingest
from drillhall.pictures.shared import list_shared
from drillhall.store.models.catalogue import CataloguePictureRow, CatalogueRow
from drillhall.store.models.pictures import LabelChangeRow, PictureOfferRow, PictureRow, PictureShareRow
from tests.cast import LEADER, LEARNER, STRANGER, TEACHER
from tests.pictures.drawn import OPEN, PRIVATE, add_catalogue, add_form, noise, saved
from tests.visits import Hall, Visitor

RESERVED = Rights("Ada Mudd", ALL_RIGHTS_RESERVED, "Ada Mudd")
KEY = "example"


class Room:
    """A learner with three pictures in a group, a steward of a catalogue of two forms, and a stranger who is steward elsewhere."""

    def __init__(self, hall: Hall) -> None:
        self.hall = hall
        self.learner, self.steward, self.stranger = (hall.enter(one) for one in (LEARNER, LEADER, STRANGER))
        with hall.store.work() as db:
            ids = {one.name: one.id for one in accounts.list_accounts(db)}
            self.owner = ids[LEARNER.name]
            self.forms = (add_form(db, "Mudpiper"), add_form(db, "Reedpiper"))
            add_catalogue(db, key=KEY, steward_id=ids[LEADER.name], form_ids=self.forms)
            add_catalogue(db, key="elsewhere", steward_id=ids[STRANGER.name], form_ids=self.forms)
            by = accounts.the_person_of(db, self.owner)
            self.group = groups.make_group(db, by=by, title="Sluice", kind="club", is_paid=False, public_id="a-group", at=hall.clock())
        self.open, self.private, self.reserved = (self.add(number, rights) for number, rights in enumerate((OPEN, PRIVATE, RESERVED)))

    def add(self, number: int, rights: Rights) -> str:
        public_id = f"{number:08x}-6a1d-4c53-9d5e-2f7a8b9c0d1e"
        taken = ingest.take(saved(noise(300 + number, 200)))
        storage = self.hall.app.extensions["drillhall.storage"]
        with self.hall.store.work() as db:
            told = {"owner_id": self.owner, "form_id": self.forms[0], "rights": rights, "at": self.hall.clock()}
            ingest.add_picture(db, storage, taken, public_id=public_id, **told)
        return public_id

    def offer(self, public_id: str = "", by: Visitor | None = None, catalogue: str = "1") -> int:
        return (by or self.learner).post(f"/my-pictures/{public_id or self.open}/offers", {"catalogue": catalogue}).status_code

    def accept(self, by: Visitor, key: str = KEY, **fields: object) -> int:
        said = {"form": str(self.forms[0]), "use": "practice", "cluster": "", "note": ""} | fields
        return by.post(f"/catalogues/{key}/offers/1/accept", said).status_code

    def rows(self, kind: type) -> list[object]:
        with self.hall.store.look() as db:
            return list(db.scalars(select(kind)))


@pytest.fixture
def room(hall: Hall) -> Room:
    return Room(hall)


def test_some_are_shared_and_the_others_named_with_the_reason(room: Room) -> None:
    answer = room.learner.post("/my-pictures/share", {"picture": [room.open, room.private, room.reserved], "group": "a-group"})
    assert answer.status_code == 422
    for words in ("2 of 3 not shared", "1 picture is shared with Sluice now", "No licence is given", "has not agreed to this"):
        assert words in answer.text
    again = room.learner.post("/my-pictures/share", {"picture": [room.reserved], "group": "a-group", "agrees": "yes"})
    assert (again.status_code, again.location) == (303, "/groups/a-group?did=shared")
    assert len(room.rows(PictureShareRow)) == 2


def test_each_refused_one_is_shown_with_its_day_and_the_page_that_mends_it(room: Room) -> None:
    unsaid, kept = room.add(7, OPEN), room.add(8, OPEN)
    with room.hall.store.work() as db:
        rows = {row.public_id: row for row in db.scalars(select(PictureRow))}
        rows[room.private].taken_on = date(2030, 5, 17)
        rows[unsaid].form_id, rows[kept].use = None, "held-out"
    page = room.learner.post("/my-pictures/share", {"picture": [room.private, unsaid, kept], "group": "a-group"}).text
    assert "taken on 17 May 2030" in page
    shown = re.findall(r'src="(/pictures/[^"]+)"', page)
    assert [room.private in shown[0], unsaid in shown[1], len(shown)] == [True, True, 2]
    assert all(room.learner.get(path).status_code == 200 for path in shown), "what is held out not even its owner looks at"
    assert re.findall(r'href="/my-pictures/([^/"]+)/(rights|label)"', page) == [(room.private, "rights"), (unsaid, "label")]
    assert page.count('name="picture"') == 2
    assert "Try these again" in page


@pytest.mark.parametrize("whose", ["kept", "nobody's"])
def test_what_cannot_be_mended_is_not_to_be_tried_again(room: Room, whose: str) -> None:
    with room.hall.store.work() as db:
        db.scalars(select(PictureRow).where(PictureRow.public_id == room.open)).one().use = "held-out"
    page = room.learner.post("/my-pictures/share", {"picture": [room.open if whose == "kept" else "x"], "group": "a-group"})
    assert page.status_code == 422
    assert "What stands in the way" in page.text
    assert "Try these again" not in page.text


def test_shared_and_corrected_pictures_are_credited(room: Room) -> None:
    room.learner.post("/my-pictures/share", {"picture": [room.open], "group": "a-group"})
    room.offer()
    room.accept(room.steward)
    room.steward.post(f"/catalogues/{KEY}/labels/{room.open}", {"form": str(room.forms[1]), "note": ""})
    for page in (room.learner.get("/groups/a-group").text, room.steward.get(f"/catalogues/{KEY}/labels").text):
        credit = re.search(r'class="credit">[^<]*Ada Mudd[^<]*, <a rel="license" href="([^"]+)">([^<]+)</a>', page)
        assert credit, "every picture with its maker and its licence"
        assert credit.groups() == ("https://creativecommons.org/licenses/by/4.0/", "CC BY 4.0")


@pytest.mark.parametrize(
    ("fields", "status", "words"),
    [
        ({"group": "a-group"}, 422, "Tick the pictures"),
        ({"picture": ["x"], "group": ""}, 422, "Choose the group"),
        ({"picture": ["x"], "group": "no-such"}, 404, "no such group"),
        ({"picture": ["x"], "group": "a-group"}, 422, "There is no such picture of yours"),
    ],
)
def test_what_cannot_be_shared_says_why(room: Room, fields: dict[str, object], status: int, words: str) -> None:
    answer = room.learner.post("/my-pictures/share", fields)
    assert answer.status_code == status
    assert words in answer.text
    assert room.rows(PictureShareRow) == []


def test_one_is_shared_and_that_is_ended(room: Room) -> None:
    page = f"/my-pictures/{room.open}/sharing"
    assert room.learner.post(page, {"group": "a-group"}).status_code == 303
    assert "Its people are shown it since" in room.learner.get(page).text
    assert room.stranger.post(f"{page}/a-group/end").status_code == 404
    assert room.learner.post(f"{page}/a-group/end").status_code == 303
    assert room.learner.post(f"{page}/a-group/end").status_code == 404
    refused = room.learner.post(f"/my-pictures/{room.private}/sharing", {"group": "a-group"})
    assert refused.status_code == 422
    assert "No licence is given" in refused.text


@pytest.mark.parametrize("takes_back", [False, True])
def test_leaving_says_what_stays_shared_and_takes_it_back_where_that_is_ticked(room: Room, *, takes_back: bool) -> None:
    steward = room.steward
    with room.hall.store.work() as db:
        made = groups.make_group(
            db,
            by=accounts.the_person_called(db, LEADER.name),
            title="Weir",
            kind="club",
            is_paid=False,
            public_id="weir",
            at=room.hall.clock(),
        )
        groups.add_member(db, made.id, room.owner, at=room.hall.clock())
    two = [room.open, room.add(9, OPEN)]
    assert room.learner.post("/my-pictures/share", {"picture": two, "group": "weir"}).status_code == 303
    assert "2 pictures of yours stay shared with it until you take them back" in room.learner.get("/groups/weir").text
    assert "of yours stay shared" not in steward.get("/groups/weir").text
    left = room.learner.post("/groups/weir/leave", {"takes_back": "yes"} if takes_back else {})
    page = room.learner.get(left.location).text
    assert ("2 pictures of yours came back with you" in page) is takes_back
    assert ("2 pictures of yours stay shared with it until you take them back" in page) is not takes_back
    assert (two[0] in steward.get("/groups/weir").text) is not takes_back
    assert room.stranger.post("/my-pictures/shared-with/weir/end").status_code == 404
    taken = room.learner.post("/my-pictures/shared-with/weir/end")
    assert taken.status_code == (404 if takes_back else 303), "nothing is left to take back"
    if not takes_back:
        assert "2 pictures are shown to nobody" in room.learner.get(taken.location).text
    assert two[0] not in steward.get("/groups/weir").text
    assert all(row.ended_at is not None for row in room.rows(PictureShareRow))  # type: ignore[attr-defined]


def test_a_groups_many_pictures_come_in_pages(room: Room, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(list_shared, "__kwdefaults__", list_shared.__kwdefaults__ | {"size": 2})
    every = [room.open, room.add(7, OPEN), room.add(8, OPEN)]
    room.learner.post("/my-pictures/share", {"picture": every, "group": "a-group"})
    pages = [room.learner.get(f"/groups/a-group?page={page}").text for page in (0, 1, 7)]
    shown = [{one for one in every if f"/pictures/{one}/" in page} for page in pages]
    assert [len(one) for one in shown] == [2, 1, 1]
    assert shown[0] | shown[1] == set(every)
    assert all("3 pictures. Everybody" in page for page in pages)
    assert ("3 to 3 of 3" in pages[2], "page=2" in pages[1]) == (True, False)


def test_anothers_picture_is_not_there(room: Room) -> None:
    for page in ("sharing", "label"):
        assert room.stranger.get(f"/my-pictures/{room.open}/{page}").status_code == 404
        assert room.stranger.post(f"/my-pictures/{room.open}/{page}", {"form": str(room.forms[1]), "group": "x"}).status_code == 404
    assert room.offer(by=room.stranger) == 404
    assert room.rows(PictureOfferRow) == []


def test_an_offer_is_seen_accepted_and_withdrawn(room: Room) -> None:
    assert room.offer() == 303
    assert room.offer() == 409
    assert "Offered" in room.steward.get(f"/catalogues/{KEY}/offers").text
    assert room.accept(room.steward, note="Fine") == 303
    assert room.accept(room.steward) == 409, "it is decided"
    page = room.learner.get(f"/my-pictures/{room.open}/sharing").text
    assert "The steward says: Fine" in page
    assert room.stranger.post(f"/my-pictures/{room.open}/offers/1/take-back").status_code == 404
    assert room.learner.post(f"/my-pictures/{room.open}/offers/1/take-back").status_code == 303
    assert room.learner.post(f"/my-pictures/{room.open}/offers/1/take-back").status_code == 409
    assert [row.retired_at is not None for row in room.rows(CataloguePictureRow)] == [True]  # type: ignore[attr-defined]


def test_nobody_decides_in_anothers_catalogue(room: Room) -> None:
    room.offer()
    for key in (KEY, "elsewhere", "no-such"):
        assert room.accept(room.stranger, key) == 404
        assert room.stranger.post(f"/catalogues/{key}/offers/1/decline").status_code == 404
    assert room.learner.get(f"/catalogues/{KEY}/offers").status_code == 404
    assert [row.decision for row in room.rows(PictureOfferRow)] == [""]  # type: ignore[attr-defined]


@pytest.mark.parametrize("fields", [{"use": "sale"}, {"form": "x"}, {"form": "999"}, {"note": "x" * 301}, {"cluster": "x" * 41}])
def test_a_bad_word_accepts_nothing(room: Room, fields: dict[str, str]) -> None:
    room.offer()
    assert room.accept(room.steward, **fields) == 422
    assert room.rows(CataloguePictureRow) == []


def test_what_has_no_licence_cannot_be_offered(room: Room) -> None:
    assert room.offer(room.private) == 422
    assert room.offer(catalogue="99") == 404
    assert room.offer(catalogue="one") == 422
    assert "cannot take it: No licence is given" in room.learner.get(f"/my-pictures/{room.private}/sharing").text


def test_the_label_of_an_accepted_picture_is_corrected_and_undone_by_its_stewards_alone(room: Room) -> None:
    room.offer()
    room.accept(room.steward)
    said = {"form": str(room.forms[1]), "note": "the bill"}
    refused = room.learner.post(f"/my-pictures/{room.open}/label", said)
    assert refused.status_code == 422
    assert "they answer for what it shows" in refused.text
    answer = room.steward.post(f"/catalogues/{KEY}/labels/{room.open}", said)
    assert answer.status_code == 303
    assert "No answer was" in room.steward.get(answer.location).text
    page = room.steward.get(f"/catalogues/{KEY}/labels").text
    assert "Mudpiper" in page
    assert "the bill" in page
    undo = f"/catalogues/{KEY}/labels/{room.open}/1/undo"
    assert room.stranger.post(undo).status_code == 404
    assert room.stranger.post(undo.replace(KEY, "elsewhere")).status_code == 404
    assert room.steward.post(undo).status_code == 303
    assert room.steward.post(undo).status_code == 409
    with room.hall.store.look() as db:
        assert db.scalars(select(PictureRow.form_id).where(PictureRow.public_id == room.open)).one() == room.forms[0]


def test_a_correction_is_undone_by_nobody_while_a_catalogue_of_others_holds_the_picture(room: Room) -> None:
    said = {"form": str(room.forms[1]), "note": ""}
    assert room.learner.post(f"/my-pictures/{room.open}/label", said).status_code == 303
    room.offer()
    assert room.accept(room.steward, form=str(room.forms[1])) == 303
    with room.hall.store.work() as db:
        elsewhere = db.scalars(select(CatalogueRow.id).where(CatalogueRow.key == "elsewhere")).one()
        picture = db.scalars(select(PictureRow.id).where(PictureRow.public_id == room.open)).one()
        db.add(CataloguePictureRow(catalogue_id=elsewhere, picture_id=picture, file="one.webp"))
    for undo, by in ((f"/my-pictures/{room.open}/label", room.learner), (f"/catalogues/{KEY}/labels/{room.open}", room.steward)):
        refused = by.post(f"{undo}/1/undo")
        assert refused.status_code == 422
        assert "they answer for what it shows" in refused.text
    with room.hall.store.look() as db:
        assert db.scalars(select(PictureRow.form_id).where(PictureRow.public_id == room.open)).one() == room.forms[1]


@pytest.mark.parametrize(
    "fields", [{"form": ""}, {"form": "x"}, {"form": "999"}, {"form": "1", "or_form": "1"}, {"form": "2", "note": "x" * 301}]
)
def test_a_label_that_says_nothing_is_asked_for_again(room: Room, fields: dict[str, str]) -> None:
    assert room.learner.post(f"/my-pictures/{room.open}/label", fields).status_code == 422
    assert room.rows(LabelChangeRow) == []


def test_who_is_no_steward_any_more_decides_nothing(room: Room) -> None:
    room.offer()
    with room.hall.store.work() as db:
        catalogue = db.scalars(select(CatalogueRow).where(CatalogueRow.key == KEY)).one()
        catalogue.retired_at = room.hall.clock()
    assert room.accept(room.steward) == 404
    assert room.hall.enter(TEACHER).get(f"/catalogues/{KEY}/labels").status_code == 404
