"""Weak spots over HTTP: a class seen by its teacher, by its pupils and by nobody else; a club as far as its people agreed."""

from __future__ import annotations

import csv
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from sqlalchemy import select, update

from drillhall.people import accounts, groups
from drillhall.practice.assigning import Wanted, assign
from drillhall.practice.shelf import list_sets
from drillhall.store.models.concepts import VernacularRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEADER, LEARNER, STRANGER, TEACHER
from tests.hall import MADE_AT
from tests.practice.playing import play
from tests.visits import Hall, Visitor, open_hall

CLASS, OTHER = "00000000-0000-4000-8000-0000000000b1", "00000000-0000-4000-8000-0000000000b2"
SPOTS = f"/groups/{CLASS}/weak-spots"


@dataclass
class School:
    """Two classes: the teacher's, in which the learner and the stranger learn, and the leader's, with nobody in it."""

    hall: Hall
    teacher: Visitor
    learner: Visitor
    other: Visitor
    members: dict[str, int]

    def of(self, name: str) -> str:
        return f"{SPOTS}/learners/{self.members[name]}"


@pytest.fixture
def school(built_hall: Path, tmp_path: Path) -> Iterator[School]:
    folder = Path(shutil.copytree(built_hall, tmp_path / "hall"))
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    hall = open_hall(store, folder)
    hall.clock.at = MADE_AT + timedelta(days=2)
    teaches, leads = hall.add(TEACHER), hall.add(LEADER)
    with store.work() as db:
        made = groups.make_group(db, by=teaches, title="Form Six", kind="class", is_paid=False, public_id=CLASS, at=MADE_AT)
        groups.make_group(db, by=leads, title="Form Ten", kind="class", is_paid=False, public_id=OTHER, at=MADE_AT)
        people = {who: accounts.recognise(db, name=who.name, passphrase=who.passphrase).account_id for who in (LEARNER, STRANGER)}
        for account_id in people.values():
            groups.add_member(db, made.id, account_id, at=MADE_AT)
        wanted = Wanted(list_sets(db, teaches.id)[0].id, MADE_AT.date())
        assign(db, made.id, wanted, by=teaches.id, today=MADE_AT.date(), at=MADE_AT)
        play(db, people[LEARNER], at=MADE_AT + timedelta(days=1), knows=lambda _, question: question.kind != "form")
        ids = db.execute(select(MembershipRow.account_id, MembershipRow.id).where(MembershipRow.account_id.in_(people.values()))).all()
    members = {who.name: dict(map(tuple, ids))[account_id] for who, account_id in people.items()}
    signed_in = (hall.enter(who, known=True) for who in (TEACHER, LEARNER, LEADER))
    yield School(hall, *signed_in, members)
    store.close()


def test_a_teacher_sees_the_class_and_each_of_it(school: School) -> None:
    page = school.teacher.get(SPOTS).text
    assert "2 learners are seen by name" in page
    assert LEARNER.name in page
    assert "too few to rank" in page
    assert "Nobody does, as far as these answers tell." in page
    hers = school.teacher.get(school.of(LEARNER.name)).text
    assert "Mixed up most" in hers
    assert "There is no such answer yet" in school.teacher.get(school.of(STRANGER.name)).text


def test_a_pupil_sees_what_is_seen_of_her_and_of_nobody_else(school: School) -> None:
    own = school.learner.get(f"{SPOTS}/yours").text
    assert "Whoever leads the class sees this page" in own
    assert "Mixed up most" in own
    page = school.learner.get(SPOTS)
    assert page.status_code == 200
    assert STRANGER.name not in page.text
    assert "There is no answer here that may be told yet." in page.text
    assert "answers on pairs" not in page.text
    assert [school.learner.get(school.of(name)).status_code for name in school.members] == [404, 404]


def test_another_class_is_not_there_on_any_route(school: School) -> None:
    """The leader teaches a class of her own: neither under this class's address nor under her own does she reach its pupils."""
    pupil = school.members[LEARNER.name]
    for path in (SPOTS, school.of(LEARNER.name), f"{SPOTS}/yours", f"/groups/{OTHER}/weak-spots/learners/{pupil}"):
        assert school.other.get(path).status_code == 404, path
    assert school.other.get(f"/groups/{CLASS}/reports/weak-spots").status_code == 404
    for file_format in ("csv", "json"):
        assert school.other.post(f"/groups/{CLASS}/reports/weak-spots/{file_format}").status_code == 404
    assert school.hall.visitor().get(SPOTS).status_code == 303


def test_a_club_tells_its_leader_of_nobody_who_has_not_agreed(school: School) -> None:
    with school.hall.store.work() as db:
        db.execute(update(GroupRow).where(GroupRow.public_id == CLASS).values(kind="club"))
        db.execute(update(MembershipRow).where(MembershipRow.role == "teacher").values(role="leader"))
    page = school.teacher.get(SPOTS).text
    assert "There is no answer here that may be told yet." in page
    assert "answers on pairs" not in page
    assert LEARNER.name not in page
    assert school.teacher.get(school.of(LEARNER.name)).status_code == 404
    assert "Nobody sees this page but you" in school.learner.get(f"{SPOTS}/yours").text
    assert school.learner.post(f"/groups/{CLASS}/let-see", {"lets": "yes"}).status_code == 303
    assert school.teacher.get(school.of(LEARNER.name)).status_code == 200
    assert "with your name on it" in school.learner.get(f"{SPOTS}/yours").text


def test_side_by_side_says_what_it_counts_and_refuses_what_it_cannot(school: School) -> None:
    page = school.teacher.get(f"{SPOTS}/beside?by=rendition").text
    assert "as taken" in page
    assert "All together" in page
    odd = school.teacher.get(f"{SPOTS}/beside?by=moon")
    assert (odd.status_code, "What to lay side by side must be one of" in odd.text) == (422, True)
    assert [who.get(f"{SPOTS}/beside").status_code for who in (school.learner, school.other)] == [200, 404]
    assert "There is no answer here that may be told yet" in school.learner.get(f"{SPOTS}/beside").text


@pytest.mark.parametrize(
    ("asked", "status"),
    [
        *(("orientation=sideways", 422), ("stage=first", 422), ("assignment=99", 404), ("rendition=upside", 422), ("sex=" + "x" * 99, 422)),
        *(("sex=xyz", 422), ("life_stage=xyz", 422), ("pose=xyz", 422), ("stage=99", 422), ("fresh=maybe", 422)),
    ],
)
def test_what_cannot_be_asked_is_told(school: School, asked: str, status: int) -> None:
    answer = school.teacher.get(f"{SPOTS}?{asked}")
    assert answer.status_code == status
    names = {"life_stage": "The age shown", "fresh": "Whether fresh pictures", "rendition": "How it was shown", "sex": "The sex shown"}
    field = asked.partition("=")[0]
    assert names.get(field, field).lower() in answer.text.lower()
    assert "list" in answer.text or "one of" in answer.text or "assignment" in answer.text


def test_the_table_to_keep_is_what_the_page_tells(school: School) -> None:
    sent = school.teacher.post(f"/groups/{CLASS}/reports/weak-spots/csv")
    rows = list(csv.DictReader(StringIO(sent.data.decode("utf-8-sig"))))
    assert rows
    page = school.teacher.get(SPOTS).text
    assert all(f"{row['missed']} of {row['shown']}" in page and row["too_few"] == "yes" for row in rows)


def test_no_two_rows_read_alike_where_forms_bear_one_name(school: School) -> None:
    with school.hall.store.work() as db:
        db.execute(update(VernacularRow).where(VernacularRow.name == "Stilt Fiddler").values(name="Sluice Fiddler"))
    learner = school.members[LEARNER.name]
    for path in (SPOTS, f"{SPOTS}/learners/{learner}", f"{SPOTS}/beside?by=stage"):
        rows = re.findall(r'<th scope="row">(.*?)</th>(<td>.*?</td>)?', school.teacher.get(path).text, re.DOTALL)
        named = [re.sub("<[^>]+>", "", f"{shown} {said}") for shown, said in rows if "Fiddler" in shown]
        assert len(set(named)) == len(named) >= 4, named


def test_whoever_keeps_the_hall_sees_no_class_by_that(school: School) -> None:
    """Whoever keeps the hall sees no single learner's answers by that."""
    keeper = school.hall.enter(KEEPER, known=True)
    assert [keeper.get(path).status_code for path in (SPOTS, school.of(LEARNER.name))] == [404, 404]
