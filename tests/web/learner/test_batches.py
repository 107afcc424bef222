"""A batch of answers costs a few statements, however many answers it has, and one commit, which notes too that the device is in use."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import select

from drillhall.people.sign_ins import TOUCH_EVERY
from drillhall.store.models.people import SignInRow
from tests.practice.small_hall import SmallHall
from tests.visits import Hall, Visitor
from tests.web.curating.curated import counted_statements
from tests.web.learner.test_drill import answers_to, begin, send


def test_a_batch_takes_as_many_statements_however_long(hall: Hall, small: SmallHall, learner: Visitor) -> None:
    packet = begin(learner)
    answers = answers_to(packet, hall.clock().isoformat())
    with counted_statements() as first:
        assert len(send(learner, answers[:1]).get_json()["stored"]) == 1
    with counted_statements() as rest:
        assert len(send(learner, answers[1:]).get_json()["stored"]) == len(answers) - 1
    assert len(first) < len(rest) <= 26 < len(answers)


def test_a_batch_is_one_commit_that_keeps_the_device_signed_in(hall: Hall, small: SmallHall, learner: Visitor) -> None:
    packet = begin(learner)
    hall.clock.at += TOUCH_EVERY + timedelta(seconds=1)
    with counted_statements() as sent:
        assert send(learner, answers_to(packet, hall.clock().isoformat())[:2]).status_code == 200
    assert sent.count("BEGIN IMMEDIATE") == 1
    with hall.store.look() as db:
        assert db.scalars(select(SignInRow.seen_at)).one() == hall.clock()


def test_what_is_refused_whole_does_not_keep_it_signed_in(hall: Hall, small: SmallHall, learner: Visitor) -> None:
    hall.clock.at += TOUCH_EVERY + timedelta(seconds=1)
    assert send(learner, []).status_code == 422
    with hall.store.look() as db:
        assert db.scalars(select(SignInRow.seen_at)).one() < hall.clock()
