"""A hall with few pictures: a drill is as long as they last, and Today says so; whoever goes on has them again."""

from __future__ import annotations

from datetime import timedelta

from drillhall.practice.today import the_today
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.small_hall import NOON, make_small_hall


def test_what_today_promises_is_drilled_once_each_and_then_comes_again_for_whoever_goes_on(store: Store) -> None:
    with store.work() as db:
        hall = make_small_hall(db, pictures=1)
        promised = the_today(db, hall.learner, now=NOON)
        packet = play(db, hall.learner, at=NOON)
        after = the_today(db, hall.learner, now=NOON + timedelta(hours=1))
        again = play(db, hall.learner, at=NOON + timedelta(hours=1))
        tomorrow = the_today(db, hall.learner, now=NOON + timedelta(days=1))
    rounds = [view for view in packet.rounds if not view.spare]
    assert promised.pictures == sum(len(view.showings) for view in rounds) == 6
    assert str(promised.short).startswith("Shorter than you set: 4 pictures")
    assert str(after.short).startswith("Every picture of your pairs was shown today.")
    assert after.pictures == sum(len(view.showings) for view in again.rounds if not view.spare) > 0
    assert tomorrow.pictures == 6
