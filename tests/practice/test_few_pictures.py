"""A hall with few pictures: the drill is as long as they last, Today says so, and then the pairs rest until tomorrow."""

from __future__ import annotations

from datetime import timedelta

import pytest

from drillhall.errors import Conflict
from drillhall.practice.drilling import start_drill
from drillhall.practice.today import the_today
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.small_hall import NOON, make_small_hall


def test_what_today_promises_is_drilled_once_each_and_then_the_pairs_rest(store: Store) -> None:
    with store.work() as db:
        hall = make_small_hall(db, pictures=1)
        promised = the_today(db, hall.learner, now=NOON)
        packet = play(db, hall.learner, at=NOON)
        after = the_today(db, hall.learner, now=NOON + timedelta(hours=1))
        with pytest.raises(Conflict, match="rest until tomorrow"):
            start_drill(db, hall.learner, drill_id="another", at=NOON + timedelta(hours=1))
        tomorrow = the_today(db, hall.learner, now=NOON + timedelta(days=1))
    rounds = [view for view in packet.rounds if not view.spare]
    assert promised.pictures == sum(len(view.showings) for view in rounds) == 6
    assert str(promised.short).startswith("Shorter than you set: 4 pictures")
    assert (after.lines, str(after.short)) == ((), "Every picture of your pairs was shown today: they rest until tomorrow.")
    assert tomorrow.pictures == 6
