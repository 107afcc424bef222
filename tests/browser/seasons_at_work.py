"""A hall in which a club and a class get ready: pair sets given for a day, answers of five who learn."""

from __future__ import annotations

from datetime import date, timedelta

from sqlalchemy.orm import Session

from drillhall.people import accounts, groups
from drillhall.people.permissions import the_group
from drillhall.practice.assigning import Wanted, assign
from drillhall.practice.outings import OutingSaid, plan_outing
from drillhall.practice.shelf import list_sets
from tests import cast
from tests.hall import Hall
from tests.practice.playing import play

CLUB = "00000000-0000-4000-8000-0000000000c1"
CLASS = "00000000-0000-4000-8000-0000000000c2"
NAMES = ("Ingeborg Tarnowicz-Fennimore", "Bo", "Marit Oxenbould", "Sven-Åke Lindqvarn")


def _spring(today: date) -> OutingSaid:
    return OutingSaid("Spring tide at the sluice", today + timedelta(days=21), "8:30, the old quay, by the weighbridge", assignment_id=1)


def a_season(hall: Hall) -> None:
    """Let the keeper lead a club of five, and teach a class of two, that have drilled."""
    keeper, learner = hall.people[cast.KEEPER], hall.people[cast.LEARNER]
    at, today = hall.clock.now, hall.clock.now.date()
    with hall.store.work() as db:
        club = groups.make_group(
            db, by=keeper, title="Watchers of the long sluice", kind="club", is_paid=False, public_id=CLUB, at=at - timedelta(days=1)
        )
        school = groups.make_group(db, by=keeper, title="Form Six", kind="class", is_paid=False, public_id=CLASS, at=at)
        people = [learner.id, *_more(db, hall)]
        for account_id in people:
            groups.add_member(db, club.id, account_id, at=at - timedelta(days=1))
        groups.add_member(db, school.id, learner.id, at=at)
        groups.add_member(db, school.id, people[1], at=at)
        groups.let_see(db, the_group(db, learner, CLUB), by=learner, lets=True)
        pair_set = list_sets(db, keeper.id)[0]
        for group in (club, school):
            assign(db, group.id, Wanted(pair_set.id, today, today + timedelta(days=21), 0.95), by=keeper.id, today=today, at=at)
    for number, account_id in enumerate(people):
        with hall.store.work() as db:
            play(
                db,
                account_id,
                at=at + timedelta(minutes=number),
                knows=lambda view, question: question.kind != "form" or view.pair.id % 3 > 0,
            )
    with hall.store.work() as db:
        plan_outing(db, club.id, _spring(today), by=keeper.id, today=today, at=at)
    hall.clock.pass_by(days=20)


def _more(db: Session, hall: Hall) -> list[int]:
    made = [accounts.make_account(db, name=name, passphrase=f"{name} walks at dawn", at=hall.clock.now) for name in NAMES]
    return [one.id for one in made]
