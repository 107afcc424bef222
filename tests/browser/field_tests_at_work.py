"""A hall in which a class sits field tests: one over, released and sat twice by some, one that the learner is sitting."""

from __future__ import annotations

from datetime import datetime, timedelta
from random import Random

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.acts.set_field_test import set_field_test
from drillhall.people import accounts, groups
from drillhall.practice.field_tests import keeping, sitting
from drillhall.practice.field_tests.setting import PairWanted, TestWanted
from drillhall.practice.shelf import list_sets
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.pictures import PictureRow
from tests import cast
from tests.hall import Hall

CLASS = "00000000-0000-4000-8000-0000000000f1"
EMPTY = "00000000-0000-4000-8000-0000000000f2"
SITTING = "00000000-0000-4000-8000-0000000000f3"
NAMES = ("Ingeborg Tarnowicz-Fennimore", "Bo", "Marit Oxenbould")


def hold_more_out(db: Session, each: int) -> None:
    """Hold out some pictures that were for practice, so that there are so many of each form."""
    for form_id in db.scalars(select(PictureRow.form_id).distinct()).all():
        more = select(PictureRow.id).where(PictureRow.form_id == form_id, PictureRow.use == "practice").limit(each - 1)
        db.execute(update(PictureRow).where(PictureRow.id.in_(more)).values(use="held-out"))


def tests_at_work(hall: Hall) -> None:
    """Let the keeper teach a class of four, of whom the learner is one, and a class that has no test yet."""
    keeper, learner, at = hall.people[cast.KEEPER], hall.people[cast.LEARNER], hall.clock.now
    dice = Random(3)
    with hall.store.work() as db:
        hold_more_out(db, 4)
        group = groups.make_group(db, by=keeper, title="Form Six", kind="class", is_paid=False, public_id=CLASS, at=at)
        groups.make_group(db, by=keeper, title="Form Nine", kind="class", is_paid=False, public_id=EMPTY, at=at)
        pupils = [learner.id, *(accounts.make_account(db, name=name, passphrase=cast.TEACHER.passphrase, at=at).id for name in NAMES)]
        for account_id in pupils:
            groups.add_member(db, group.id, account_id, at=at)
        pairs = db.scalars(select(PairRow).order_by(PairRow.id)).all()
        set_id, until = list_sets(db, keeper.id)[0].id, at + timedelta(hours=1)
        asked = (PairWanted(pairs[0].id), PairWanted(pairs[1].id, pairs[1].first_form_id, 3))
        wanted = TestWanted("What we can tell before the autumn passage begins", set_id, asked, 2, at, until, minutes=20, repeats=True)
        test_id = set_field_test(db, group, wanted, by=keeper.id, at=at, dice=dice)
        for number, account_id in enumerate((*pupils[:3], *pupils[:2])):
            _sit(db, account_id, test_id, f"{SITTING[:-1]}{number + 4}", at=at, dice=dice, skill=0.5 + 0.15 * number)
        keeping.release(db, group.id, test_id, at=until)
        later = at + timedelta(hours=2)
        again = TestWanted("After it", set_id, asked[:1], 2, later, later + timedelta(days=20), minutes=30, may_pause=True)
        second = set_field_test(db, group, again, by=keeper.id, at=later, dice=dice)
        sitting.begin_sitting(db, learner.id, second, sitting_id=SITTING, at=later, dice=dice)
        sitting.answer(db, learner.id, SITTING, 1, str(pairs[0].first_form_id), at=later)
    hall.clock.pass_by(hours=2, minutes=3)


def _sit(db: Session, account_id: int, test_id: int, sitting_id: str, *, at: datetime, dice: Random, skill: float) -> None:
    sitting.begin_sitting(db, account_id, test_id, sitting_id=sitting_id, at=at, dice=dice)
    running = sitting.the_running(db, account_id, sitting_id, at=at)
    for place in running.items:
        one = running.question(place)
        said = one.key if dice.random() < skill else sum(one.forms) - one.key
        sitting.answer(db, account_id, sitting_id, place, str(said), at=at)
    sitting.hand_in(db, account_id, sitting_id, at=at)
