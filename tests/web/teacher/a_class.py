"""A hall with a class in it, its teacher and pupil, another class with a teacher of its own, and tests to set."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from sqlalchemy import select, update

from drillhall.people import accounts, groups
from drillhall.practice.shelf import list_sets
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import SightRow
from drillhall.store.session import Store
from tests.cast import LEADER, LEARNER, STRANGER, TEACHER, Someone
from tests.hall import MADE_AT
from tests.visits import Hall, Visitor, open_hall

CLASS = "00000000-0000-4000-8000-0000000000c1"
OTHER = "00000000-0000-4000-8000-0000000000c2"
EACH = 3
"""Held-out pictures of each form."""


@dataclass
class Class:
    """The class: the stranger is in neither class; the leader teaches the other one."""

    hall: Hall
    teacher: Visitor
    pupil: Visitor
    other: Visitor
    stranger: Visitor
    set_id: int
    base: str = f"/groups/{CLASS}"

    def join(self, name: str) -> Visitor:
        """Let another pupil into the class."""
        someone = Someone(name, "a barn owl over the stubble", "UTC")
        person = self.hall.add(someone)
        with self.hall.store.work() as db:
            group_id = db.scalars(select(GroupRow.id).where(GroupRow.public_id == CLASS)).one()
            groups.add_member(db, group_id, person.id, at=MADE_AT)
        return self.hall.enter(someone, known=True)

    def fields(self, **more: object) -> dict[str, object]:
        """Return what the form that sets a test sends."""
        page = self.teacher.get(f"{self.base}/field-tests/new/{self.set_id}").text
        pairs = [part.partition('"')[0] for part in page.split('name="pair" value="')[1:]]
        at = {"opens_at": "2031-03-03T11:00", "until": "2031-03-03T13:00"}  # nine in the morning in UTC is eleven where she is
        return {"title": "Autumn test", "pair": pairs[:1], "per_form": "2", "minutes": "20", **at} | more

    def set_test(self, **more: object) -> str:
        """Set a test and return its address."""
        answer = self.teacher.post(f"{self.base}/field-tests/new/{self.set_id}", self.fields(**more))
        assert answer.status_code == 303, answer.text
        return str(answer.location)

    def begin(self, test: str, who: Visitor | None = None) -> str:
        """Let somebody begin a test and return the address of its first question."""
        answer = (who or self.pupil).post(f"/field-tests/{test.rpartition('/')[2]}/begin")
        assert answer.status_code == 303, answer.text
        return str(answer.location)

    def choices(self, question: str, who: Visitor | None = None) -> list[str]:
        """Return the values that may be said to a question."""
        page = (who or self.pupil).get(question).text
        return [part.partition('"')[0] for part in page.split('name="said" value="')[1:3]]

    def sit(self, test: str, who: Visitor | None = None) -> str:
        """Say the first form to every question, hand in, and return the sitting's address."""
        visitor, address = who or self.pupil, self.begin(test, who)
        sitting = address.rpartition("/")[0]
        while address != sitting:
            address = str(visitor.post(address, {"said": self.choices(address, who)[0]}).location)
        visitor.post(f"{sitting}/hand-in")
        return sitting


@contextmanager
def open_class(built: Path, folder: Path) -> Iterator[Class]:
    """Open a copy of a built hall with the classes in it."""
    path = Path(shutil.copytree(built, folder))
    store = Store(f"sqlite:///{path / 'hall.sqlite'}")
    hall = open_hall(store, path)
    hall.clock.at = MADE_AT + timedelta(hours=1)
    teacher, leader = hall.add(TEACHER), hall.add(LEADER)
    with store.work() as db:
        hers = groups.make_group(db, by=teacher, title="Form Six", kind="class", is_paid=False, public_id=CLASS, at=MADE_AT)
        groups.make_group(db, by=leader, title="Form Nine", kind="class", is_paid=False, public_id=OTHER, at=MADE_AT)
        learner = accounts.recognise(db, name=LEARNER.name, passphrase=LEARNER.passphrase)
        groups.add_member(db, hers.id, learner.account_id, at=MADE_AT)
        set_id = list_sets(db, teacher.id)[0].id
        for form_id in db.scalars(select(PictureRow.form_id).distinct()).all():
            more = select(PictureRow.id).where(PictureRow.form_id == form_id, PictureRow.use == "practice").limit(EACH - 1)
            db.execute(update(PictureRow).where(PictureRow.id.in_(more)).values(use="held-out"))
        assert not db.scalars(select(SightRow)).all()
    known = [hall.enter(one, known=True) for one in (TEACHER, LEARNER, LEADER, STRANGER)]
    yield Class(hall, known[0], known[1], known[2], known[3], set_id)
    store.close()
