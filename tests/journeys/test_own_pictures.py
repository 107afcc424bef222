"""A learner with ten phone photographs of two species: signed in, sent, described, and drilled, all within five minutes and over HTTP."""

from __future__ import annotations

import uuid
from io import BytesIO
from typing import Any

from sqlalchemy import select

from drillhall.practice import shelf
from drillhall.store.models.catalogue import CatalogueFormRow
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, ShowingRow
from tests import cast
from tests.browser.sent_pictures import a_photograph
from tests.hall import Hall
from tests.pictures.drawn import add_form
from tests.visits import Visitor

PHONE = (1600, 1200)
TEN = [a_photograph(number, size=PHONE, day=f"2031:02:{number + 1:02} 06:45:10") for number in range(1, 11)]


class Learner(Visitor):
    """The stranger, who has taken nothing from the shelf, in a browser with a script."""

    def __init__(self, hall: Hall) -> None:
        super().__init__(hall.app, hall.address)
        answer = self.post("/sign-in", {"name": cast.STRANGER.name, "passphrase": cast.STRANGER.passphrase})
        assert answer.status_code == 303

    def send(self, source: bytes) -> str:
        told = {"undisturbed": "yes", "file": (BytesIO(source), "IMG.jpg")}
        headers = {"Accept": "application/json", "Referer": f"{self.base}/"}
        answer = self.post("/my-pictures/send", told, content_type="multipart/form-data", headers=headers)
        return str(answer.get_json()["page"]).rpartition("/")[2]

    def take_all(self, hall: Hall) -> None:
        with hall.store.look() as db:
            found = shelf.list_sets(db, hall.people[cast.STRANGER].id)
        assert {self.post(f"/shelf/{pair_set.id}/take").status_code for pair_set in found} == {303}

    def say(self, ids: list[str], form_id: int) -> str:
        answer = self.post("/my-pictures/describe", {"picture": ids, "form": form_id, "orientation": "lateral"})
        assert answer.status_code == 303, answer.text
        return self.get(answer.location).text

    def packet(self) -> dict[str, Any]:
        headers = {"X-CSRFToken": self.token(), "Referer": f"{self.base}/"}
        planned = self.client.post("/drills", json={}, headers=headers, base_url=self.base).get_json()
        assert "packet_url" in planned, planned
        packet = self.get(planned["packet_url"]).get_json()
        assert isinstance(packet, dict)
        return packet

    def answer(self, hall: Hall, packet: dict[str, Any]) -> int:
        answers = [
            {"id": str(uuid.uuid4()), "showing": showing["showing"], "ask": ask["place"], "said": ask["answer_key"], "seconds": 4}
            | {"sure": "probable" if ask["kind"] == "form" else None, "at": hall.clock.now.isoformat()}
            for one in packet["rounds"]
            for showing in one["showings"]
            for ask in showing["asks"]
        ]
        headers = {"X-CSRFToken": self.token(), "Referer": f"{self.base}/"}
        stored = self.client.post("/drills/answers", json={"answers": answers}, headers=headers, base_url=self.base).get_json()
        assert stored["refused"] == []
        return len(stored["stored"])


def form_of(hall: Hall, key: str) -> int:
    with hall.store.look() as db:
        return db.scalars(select(CatalogueFormRow.form_id).where(CatalogueFormRow.key == key)).one()


def test_ten_photographs_are_sent_described_and_drilled(hall: Hall) -> None:
    learner = Learner(hall)
    ids = [learner.send(source) for source in TEN]
    assert "10 wait for a word" in learner.get("/my-pictures").text
    learner.say(ids[:5], form_of(hall, "sluice_fiddler"))
    page = learner.say(ids[5:], form_of(hall, "marsh_fiddler"))
    assert "take <b>The fiddlers</b>" in page, "nothing she has taken drills these two: the page says which set would"
    learner.take_all(hall)
    assert "Not drilled yet." not in learner.get("/my-pictures").text
    shown = {showing["picture"]["id"] for one in learner.packet()["rounds"] for showing in one["showings"]}
    assert shown & set(ids), "her own photographs are in the very first drill"


def test_a_pair_from_the_end_of_a_set_is_drilled_at_once_where_she_has_photographs_of_both(hall: Hall) -> None:
    learner = Learner(hall)
    with hall.store.work() as db:
        db.get_one(AccountRow, hall.people[cast.STRANGER].id).new_a_day = 1
    learner.take_all(hall)
    ids = [learner.send(source) for source in TEN]
    learner.say(ids[:5], form_of(hall, "marsh_fiddler_juvenile"))
    learner.say(ids[5:], form_of(hall, "stilt_fiddler"))
    rounds = learner.packet()["rounds"]
    with hall.store.look() as db:
        forms = [form_of(hall, "marsh_fiddler_juvenile"), form_of(hall, "stilt_fiddler")]
        last = db.scalars(select(PairRow.id).where(PairRow.first_form_id.in_(forms), PairRow.second_form_id.in_(forms))).one()
    assert {one["pair"] for one in rounds} == {last}, "the one new pair of the day is hers"
    hers = [showing["picture"]["id"] for showing in rounds[0]["showings"] if showing["picture"]["id"] in ids]
    assert 2 * len(hers) >= len(rounds[0]["showings"])


def test_her_own_photographs_are_answered_and_each_is_shown_to_her_alone(hall: Hall) -> None:
    learner = Learner(hall)
    ids = [learner.send(source) for source in TEN]
    learner.say(ids[:5], form_of(hall, "sluice_fiddler"))
    learner.say(ids[5:], form_of(hall, "marsh_fiddler"))
    learner.take_all(hall)
    packet = learner.packet()
    hers = [showing for one in packet["rounds"] for showing in one["showings"] if showing["picture"]["id"] in ids]
    assert hers
    assert {learner.get(showing["picture"]["url"]).status_code for showing in hers} == {200}
    other = Visitor(hall.app, hall.address)
    other.post("/sign-in", {"name": cast.LEARNER.name, "passphrase": cast.LEARNER.passphrase})
    assert {other.get(showing["picture"]["url"]).status_code for showing in hers} == {404}
    hall.clock.pass_by(minutes=4)
    assert learner.answer(hall, packet) > 0
    with hall.store.look() as db:
        on_hers = (
            select(AnswerRow.id)
            .join(ShowingRow)
            .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
            .where(PictureRow.public_id.in_(ids))
        )
        assert len(db.scalars(on_hers).all()) >= len(hers)
    assert not [path for path in ("/", "/standing") if "judged anew" in learner.get(path).text]
    truth, other_form = form_of(hall, "sluice_fiddler"), form_of(hall, "marsh_fiddler")
    hall.clock.pass_by(minutes=4)
    one = hers[0]["picture"]["id"]
    said = {"form": str(other_form if one in ids[:5] else truth), "note": ""}
    assert learner.post(f"/my-pictures/{one}/label", said).status_code == 303
    told = "The label of a picture was corrected:"
    assert [path for path in ("/", "/standing") if told in learner.get(path).text] == ["/", "/standing"]
    assert told not in other.get("/standing").text


def test_what_was_answered_outlives_the_files_of_its_picture(hall: Hall) -> None:
    learner = Learner(hall)
    ids = [learner.send(source) for source in TEN]
    learner.say(ids[:5], form_of(hall, "sluice_fiddler"))
    learner.say(ids[5:], form_of(hall, "marsh_fiddler"))
    learner.take_all(hall)
    packet = learner.packet()
    hall.clock.pass_by(minutes=4)
    learner.answer(hall, packet)
    for public_id in ids:
        assert learner.post(f"/my-pictures/{public_id}/delete-files", {"for_good": "yes"}).status_code == 303
    for path in (
        "/",
        "/drill",
        f"/drills/{packet['drill']}",
        f"/drill/end?drill={packet['drill']}",
        "/standing",
        "/my-pictures?show=withdrawn",
    ):
        assert learner.get(path).status_code in (200, 303), path
    hall.clock.pass_by(days=1)
    shown = {showing["picture"]["id"] for one in Learner(hall).packet()["rounds"] for showing in one["showings"]}
    assert shown
    assert not shown & set(ids)


def test_two_forms_that_no_catalogue_pairs_are_told_so_plainly(hall: Hall) -> None:
    learner = Learner(hall)
    with hall.store.work() as db:
        lone = add_form(db, "Kelp Drummer")
        catalogue_id = db.scalars(select(CatalogueFormRow.catalogue_id).distinct()).one()
        db.add(CatalogueFormRow(catalogue_id=catalogue_id, form_id=lone, key="kelp_drummer"))
    page = learner.say([learner.send(TEN[0])], lone)
    assert "Kelp Drummer, 1 picture:" in page
    assert "no pair set of this hall holds this form" in page
    assert 'href="/shelf"' in page
