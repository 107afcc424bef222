"""Pair sets of a group over HTTP: giving one, what its people are told, and what is refused."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select, update

from drillhall.core.forecast import Recalibration
from drillhall.people import accounts, groups
from drillhall.people.permissions import the_group
from drillhall.people.person import Person
from drillhall.practice import readiness
from drillhall.practice.in_use import groups_using
from drillhall.practice.outings import OutingSaid, plan_outing
from drillhall.store.models.catalogue import CataloguePictureRow, CatalogueRow, PairSetRow
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.pictures import PictureRow, PictureShareRow, RightsRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEADER, LEARNER, STRANGER
from tests.hall import MADE_AT
from tests.visits import Hall, Visitor, open_hall

GROUP = "00000000-0000-4000-8000-0000000000aa"
DAY = MADE_AT.date()
GIVEN = {"pair_set": "1", "from_day": DAY.isoformat(), "for_day": (DAY + timedelta(days=21)).isoformat(), "target_recall": ""}


@dataclass
class Club:
    """A hall with the small catalogue and a club in it: its leader, and a member who has taken nothing."""

    hall: Hall
    who: Person
    leader: Visitor
    member: Visitor
    base: str = f"/groups/{GROUP}"

    def give(self, **fields: str) -> str:
        answer = self.leader.post(f"{self.base}/assignments", GIVEN | fields)
        assert answer.status_code == 303, answer.text
        return str(answer.location)


@pytest.fixture
def club(built_hall: Path, tmp_path: Path) -> Iterator[Club]:
    folder = Path(shutil.copytree(built_hall, tmp_path / "hall"))
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    hall = open_hall(store, folder)
    hall.clock.at = MADE_AT + timedelta(hours=1)
    who = hall.add(LEADER)
    with store.work() as db:
        made = groups.make_group(db, by=who, title="Sluice watchers", kind="club", is_paid=False, public_id=GROUP, at=MADE_AT)
        member = accounts.recognise(db, name=STRANGER.name, passphrase=STRANGER.passphrase)
        groups.add_member(db, made.id, member.account_id, at=MADE_AT)
    yield Club(hall, who, hall.enter(LEADER, known=True), hall.enter(STRANGER, known=True))
    store.close()


def test_a_set_is_given_and_everybody_is_told(club: Club) -> None:
    page = club.leader.get(club.give()).text
    assert "for Monday 24 March" in page
    assert "1 is in the group. Of fewer than five nothing is told in sum" in page
    assert "for Monday 24 March" in club.member.get(club.base).text
    today = club.member.get("/").text
    assert "Sluice watchers has set" in today
    assert "in 21 days" in today
    assert "Your club has set these" in today


def test_a_set_without_pictures_for_the_group_is_refused_with_what_there_is_and_the_mend(club: Club) -> None:
    with club.hall.store.work() as db:
        held = [row.picture_id for row in db.scalars(select(CataloguePictureRow))]
        pictures = db.scalars(select(PictureRow).where(PictureRow.id.in_(held), PictureRow.use == "practice")).all()
        for rights in db.scalars(select(RightsRow).where(RightsRow.picture_id.in_(held))):
            rights.may_group = False
        hers = pictures[0]
        hers.owner_id = club.who.id
        db.scalars(select(CataloguePictureRow).where(CataloguePictureRow.picture_id == hers.id)).one().retired_at = MADE_AT
    answer = club.leader.post(f"{club.base}/assignments", GIVEN)
    assert answer.status_code == 409
    page = " ".join(re.sub(r"<[^>]+>", "", answer.text).split())
    assert "Share pictures with the group first; then give it." in page
    assert re.search(r": the catalogue holds \d+, not for a group to see. 1 of yours, seen by nobody else.", page)
    assert 'href="/my-pictures"' in answer.text.partition("No picture for")[2]
    with club.hall.store.work() as db:
        for rights in db.scalars(select(RightsRow)):
            rights.may_group = True
        db.add(PictureShareRow(picture_id=hers.id, group_id=1, shared_at=MADE_AT))
    club.give()
    again = club.leader.post(f"{club.base}/assignments", GIVEN)
    assert (again.status_code, "No picture for" in again.text) == (409, False), "it is refused for another reason"


def test_who_retires_a_set_is_told_which_of_her_groups_use_it_and_only_that_others_do(club: Club) -> None:
    steward = club.hall.enter(KEEPER, known=True)
    with club.hall.store.look() as db:
        key = db.scalars(select(CatalogueRow.key)).one()
        set_key = db.scalars(select(PairSetRow.key)).one()
    page, retire = f"/catalogues/{key}/sets/{set_key}", f"/catalogues/{key}/things/sets/{set_key}/retire"
    assert "use it now" not in steward.get(page).text
    club.give()
    before = steward.get(page).text
    assert "<b>Groups that you are not in</b> use it now" in before
    assert "Sluice watchers" not in before
    with club.hall.store.work() as db:
        groups.add_member(db, 1, accounts.the_person_called(db, KEEPER.name).id, at=MADE_AT)
    assert re.search(r'<a href="/groups/[^"]+">Sluice watchers</a></b> use it now', steward.get(page).text)
    assert "Sluice watchers" in steward.get(f"/catalogues/{key}/about").text
    after = steward.post(retire)
    told = steward.get(str(after.location)).text
    assert "The set is out of use." in told
    assert re.search("Sluice watchers</a></b> used it. Nobody there is asked its pairs now", told)
    assert "out of use" not in steward.get(f"/catalogues/{key}").text


def test_what_a_group_is_given_no_more_is_not_in_use(club: Club) -> None:
    where = club.give()
    assert club.leader.post(f"{where}/end").status_code == 303
    with club.hall.store.look() as db:
        assert not groups_using(db, 1, person_id=club.who.id, on=DAY).is_used
    club.give()
    with club.hall.store.look() as db:
        assert groups_using(db, 1, person_id=club.who.id, on=DAY + timedelta(days=21)).hers == ((GROUP, "Sluice watchers"),)
        assert not groups_using(db, 1, person_id=club.who.id, on=DAY + timedelta(days=22)).is_used
        assert not groups_using(db, 1, person_id=club.who.id, on=DAY, set_key="another").is_used


def test_a_member_says_herself_who_sees_her_by_name(club: Club) -> None:
    where = club.give()
    assert STRANGER.name not in club.leader.get(where).text
    assert club.member.post(f"{club.base}/let-see", {"lets": "yes"}).status_code == 303
    assert STRANGER.name in club.leader.get(where).text
    assert "checked" in club.member.get(club.base).text
    assert club.member.post(f"{club.base}/let-see").status_code == 303
    assert STRANGER.name not in club.leader.get(where).text


def test_how_many_will_be_held_is_told_once_in_words_or_by_chances(club: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two figures side by side, of words and of chances, were read as a contradiction."""
    page = club.give()
    assert club.member.post(f"{club.base}/let-see", {"lets": "yes"}).status_code == 303
    said = club.leader.get(page).text
    assert re.findall(r"<b>(.*) of 3 pairs</b>", said) == ["0"]
    monkeypatch.setattr(readiness, "the_recalibration", lambda _: Recalibration(0.0, 1.0))
    said = club.leader.get(page).text
    assert re.findall(r"<b>(.*) of 3 pairs</b>", said) == ["about 0"]
    assert "whole rounds without a miss" in said
    assert "Ready today?" not in said
    club.leader.post(f"{page}/end")
    assert "Ready today?" in club.leader.get(club.give(for_day="")).text


def test_a_set_that_the_group_has_is_offered_no_second_time(club: Club) -> None:
    """Chosen anew it was refused: a season's form offered it twice."""
    offered = {"assignments": '<option value="1"', "season": '<option value="set:1"', "outings": '<option value="set:1"'}
    assert [choice in club.leader.get(f"{club.base}/{page}").text for page, choice in offered.items()] == [True] * 3
    where = club.give()
    assert [choice in club.leader.get(f"{club.base}/{page}").text for page, choice in offered.items()] == [False] * 3
    assert "The group has every pair set of the shelf." in club.leader.get(f"{club.base}/assignments").text
    club.leader.post(f"{where}/end")
    assert '<option value="1"' in club.leader.get(f"{club.base}/assignments").text


def test_the_shelf_tells_a_member_which_set_her_group_has_given_her(club: Club) -> None:
    where = club.give()
    shelf = club.member.get("/shelf").text
    said = ("Sluice watchers has given you this set.", "Take it yourself too", ">Take this set<")
    assert [one in shelf for one in said] == [True, True, False]
    hers = re.findall(r'<p class="small"><a href="(/[^"]+)"', shelf)
    assert [club.member.get(link).status_code for link in hers] == [200] * 4, hers
    assert "has given you this set" not in club.leader.get("/shelf").text
    club.leader.post(f"{where}/end")
    assert ">Take this set<" in club.member.get("/shelf").text


def test_a_leader_has_no_such_switch(club: Club) -> None:
    assert club.leader.post(f"{club.base}/let-see", {"lets": "yes"}).status_code == 409
    assert "Let the leader see" not in club.leader.get(club.base).text


@pytest.mark.parametrize(
    ("fields", "status", "sentence"),
    [
        ({"from_day": ""}, 422, "The first day is not given"),
        ({"from_day": "3 March"}, 422, "must be a day, such as"),
        ({"for_day": (DAY - timedelta(days=1)).isoformat()}, 422, "comes before the first day"),
        ({"target_recall": "98"}, 422, "from 70 to 97"),
        ({"target_recall": "high"}, 422, "must be a whole number"),
        ({"pair_set": "99"}, 404, "no such pair set"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(club: Club, fields: dict[str, str], status: int, sentence: str) -> None:
    answer = club.leader.post(f"{club.base}/assignments", GIVEN | fields)
    assert (answer.status_code, sentence in answer.text) == (status, True), answer.text


def test_the_same_set_twice_is_a_conflict(club: Club) -> None:
    club.give()
    answer = club.leader.post(f"{club.base}/assignments", GIVEN)
    assert (answer.status_code, "has this pair set already" in answer.text) == (409, True)


def test_a_member_a_stranger_and_a_leader_who_lost_the_role_are_refused(club: Club) -> None:
    where = club.give()
    learner = club.hall.enter(LEARNER, known=True)
    assert {somebody.get(where).status_code for somebody in (learner, club.hall.enter(KEEPER, known=True))} == {404}
    assert club.member.get(where).status_code == 404
    assert club.member.post(f"{where}/end").status_code == 404
    with club.hall.store.work() as db:
        group = the_group(db, club.who, GROUP)
        membership = db.scalars(select(MembershipRow).where(MembershipRow.role == "member")).one()
        groups.make_head(db, group, membership.id, by=club.who, at=club.hall.clock())
        groups.step_down(db, group, by=club.who, at=club.hall.clock())
    assert club.leader.get(where).status_code == 404
    assert club.leader.post(f"{club.base}/assignments", GIVEN).status_code == 404
    assert club.member.get(where).status_code == 200


def test_ending_it_takes_it_from_her_drill(club: Club) -> None:
    where = club.give()
    assert club.leader.post(f"{where}/end").status_code == 303
    assert "Sluice watchers has set" not in club.member.get("/").text
    assert "Ended" in club.leader.get(f"{club.base}/assignments").text
    assert club.leader.post(f"{club.base}/assignments/77/end").status_code == 404


def test_a_set_that_goes_out_of_use_while_it_is_given_is_told_so_and_of_nobody_else(club: Club) -> None:
    where = club.give()
    day = DAY + timedelta(days=14)
    with club.hall.store.work() as db:
        group = the_group(db, club.who, GROUP)
        outing = plan_outing(db, group.id, OutingSaid("Low water", day, assignment_id=1), by=club.who.id, today=DAY, at=club.hall.clock())
    sheet = f"{club.base}/outings/{outing}/eve-sheet"
    assert "Nothing of it is drilled now" not in club.leader.get(where).text
    assert "Fewer than five of the group have answered" in club.leader.get(sheet).text
    with club.hall.store.work() as db:
        db.execute(update(PairSetRow).values(retired_at=club.hall.clock()))
    page = club.leader.get(where).text
    assert "Nothing of it is drilled now: its pair set is out of use" in page
    assert "Ready by" not in page
    page = club.leader.get(sheet).text
    assert "Nothing of this set is drilled now" in page
    assert "Fewer than five" not in page
