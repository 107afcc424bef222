"""Many of one's own pictures go into a catalogue at once, and many offers are accepted at once; each as its rights allow."""

from __future__ import annotations

import re

import pytest
from sqlalchemy import select

from drillhall.store.models.catalogue import CataloguePictureRow, StewardRow
from drillhall.store.models.pictures import PictureOfferRow, PictureRow, RightsRow
from tests.pictures.drawn import OPEN, add_form
from tests.visits import Hall
from tests.web.pictures.test_sharing import KEY, Room

ALL = "/my-pictures/offers"


@pytest.fixture
def room(hall: Hall) -> Room:
    return Room(hall)


@pytest.fixture
def her_own(room: Room) -> Room:
    """The same room, where the learner is steward of the catalogue as well."""
    with room.hall.store.work() as db:
        db.add(StewardRow(catalogue_id=1, account_id=room.owner))
    return room


def held(room: Room) -> set[str]:
    with room.hall.store.look() as db:
        query = select(PictureRow.public_id).join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        return set(db.scalars(query.where(CataloguePictureRow.retired_at.is_(None))))


def test_a_stewards_own_go_in_at_once_and_the_others_are_told_with_their_mend(her_own: Room) -> None:
    room = her_own
    answer = room.learner.post(ALL, {"picture": [room.open, room.private, room.reserved, room.open], "catalogue": "1"})
    assert answer.status_code == 422
    for words in ("2 of 3 not taken in", "1 picture is in", "No licence is given", "has not agreed to this", "Try these again"):
        assert words in answer.text
    assert held(room) == {room.open}
    assert set(re.findall(r'href="/my-pictures/([^/"]+)/rights"', answer.text)) == {room.private, room.reserved}
    again = room.learner.post(ALL, {"picture": [room.open, room.reserved], "catalogue": "1", "lets_drill": "yes"})
    assert (again.status_code, again.location) == (303, f"/my-pictures?into={KEY}&put=1&already=1")
    assert held(room) == {room.open, room.reserved}
    assert [row.decision for row in room.rows(PictureOfferRow)] == ["accepted", "accepted"]  # type: ignore[attr-defined]
    told = room.learner.get(again.location).text
    assert "1 in the catalogue now." in told
    assert f'href="/catalogues/{KEY}"' in told


def test_twenty_at_once_keep_what_their_owner_says_they_are_for(her_own: Room) -> None:
    room = her_own
    many = [room.add(number, OPEN) for number in range(10, 30)]
    with room.hall.store.work() as db:
        db.scalars(select(PictureRow).where(PictureRow.public_id == many[0])).one().use = "portrait"
    answer = room.learner.post(ALL, {"picture": many, "catalogue": "1"})
    assert (answer.status_code, answer.location) == (303, f"/my-pictures?into={KEY}&put=20")
    assert held(room) == set(many)
    with room.hall.store.look() as db:
        assert {row.use for row in db.scalars(select(PictureRow).where(PictureRow.public_id == many[0]))} == {"portrait"}
        files = [row.file for row in db.scalars(select(CataloguePictureRow))]
    assert len(set(files)) == 20


def test_into_anothers_catalogue_they_are_offered_and_wait(room: Room) -> None:
    answer = room.learner.post(ALL, {"picture": [room.open, room.reserved], "catalogue": "1", "lets_drill": "yes"})
    assert (answer.status_code, answer.location) == (303, "/my-pictures?offered=2")
    assert held(room) == set()
    assert "<b>2 offered.</b> A steward looks at them" in room.learner.get(answer.location).text
    assert ": a steward looks first" in room.learner.get("/my-pictures").text


def test_what_is_refused_writes_no_agreement(her_own: Room) -> None:
    room = her_own
    with room.hall.store.work() as db:
        db.scalars(select(PictureRow).where(PictureRow.public_id == room.reserved)).one().form_id = None
    answer = room.learner.post(ALL, {"picture": [room.reserved], "catalogue": "1", "lets_drill": "yes"})
    assert answer.status_code == 422
    assert "Say what it shows" in answer.text
    with room.hall.store.look() as db:
        assert not any("group" in row.agreed for row in db.scalars(select(RightsRow)))


def test_a_form_that_the_catalogue_does_not_know_leads_to_the_label(her_own: Room) -> None:
    room = her_own
    with room.hall.store.work() as db:
        db.scalars(select(PictureRow).where(PictureRow.public_id == room.open)).one().form_id = add_form(db, "Weirpiper")
    answer = room.learner.post(ALL, {"picture": [room.open], "catalogue": "1"})
    assert "This catalogue does not know the form that it shows." in answer.text
    assert f'href="/my-pictures/{room.open}/label"' in answer.text
    assert "Try these again" not in answer.text


@pytest.mark.parametrize(
    ("fields", "status", "words"),
    [
        ({"catalogue": "1"}, 422, "Tick the pictures"),
        ({"picture": ["x"]}, 422, "Choose the catalogue"),
        ({"picture": ["x"], "catalogue": "99"}, 404, "no such catalogue"),
        ({"picture": ["x"], "catalogue": "1"}, 422, "There is no such picture of yours"),
        ({"picture": ["x"] + [str(n) for n in range(200)], "catalogue": "1"}, 422, "at most 200"),
    ],
)
def test_what_cannot_go_says_why(room: Room, fields: dict[str, object], status: int, words: str) -> None:
    answer = room.learner.post(ALL, fields)
    assert answer.status_code == status
    assert words in answer.text
    assert room.rows(PictureOfferRow) == []


def test_one_goes_into_ones_own_catalogue_from_its_page(her_own: Room) -> None:
    room = her_own
    page = room.learner.get(f"/my-pictures/{room.open}/sharing").text
    assert "Put it into" in page
    assert "Offer it to" in page, "the other catalogue is not hers"
    answer = room.learner.post(f"/my-pictures/{room.open}/offers", {"catalogue": "1"})
    assert answer.location == f"/my-pictures/{room.open}/sharing?did=put"
    assert "It is in the catalogue." in room.learner.get(answer.location).text
    assert held(room) == {room.open}


def test_many_offers_are_accepted_at_once_and_those_that_may_not_are_told(room: Room) -> None:
    many = [room.add(number, OPEN) for number in range(10, 13)]
    room.learner.post(ALL, {"picture": many, "catalogue": "1"})
    with room.hall.store.work() as db:
        last = db.scalars(select(PictureRow.id).where(PictureRow.public_id == many[2])).one()
        db.get_one(RightsRow, last).agreed = ""
        db.get_one(RightsRow, last).licence = ""
        db.get_one(RightsRow, last).licence_url = ""
    accept = f"/catalogues/{KEY}/offers/accept"
    assert room.steward.get(f"/catalogues/{KEY}/offers").text.count("Tick to accept") == 2, "not of what may not be shown"
    answer = room.steward.post(accept, {"offer": ["1", "2", "3"], "use": "portrait"})
    assert answer.status_code == 422
    assert "2 of 3 accepted." in answer.text
    assert "No licence is given" in answer.text
    assert held(room) == set(many[:2])
    with room.hall.store.look() as db:
        assert [row.use for row in db.scalars(select(PictureRow).where(PictureRow.public_id.in_(many[:2])))] == ["portrait"] * 2
    gone = room.steward.post(accept, {"offer": ["1", "99"]})
    assert gone.status_code == 422
    assert "0 of 2 accepted." in gone.text


def test_many_are_accepted_by_stewards_alone_and_not_without_a_tick(room: Room) -> None:
    room.offer()
    accept = f"/catalogues/{KEY}/offers/accept"
    for who in (room.learner, room.stranger):
        assert who.post(accept, {"offer": ["1"]}).status_code == 404
    assert room.stranger.post("/catalogues/elsewhere/offers/accept", {"offer": ["1"]}).status_code == 422
    unticked = room.steward.post(accept, {})
    assert unticked.status_code == 422
    assert "Tick the pictures to accept first." in unticked.text
    assert held(room) == set()
    done = room.steward.post(accept, {"offer": ["1", "x"]})
    assert (done.status_code, done.location) == (303, f"/catalogues/{KEY}/offers?did=accepted")
    assert held(room) == {room.open}
