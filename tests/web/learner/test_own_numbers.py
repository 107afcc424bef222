"""Numbers of one's own, as pages."""

from __future__ import annotations

import sys
from dataclasses import replace

import pytest
from sqlalchemy import select

from drillhall.acts.run_jobs import JOBS, Workshop
from drillhall.core.memory import USUAL_PARAMETERS
from drillhall.core.values import Standing
from drillhall.people.accounts import list_accounts
from drillhall.pictures.storage import FolderStorage
from drillhall.practice import own_numbers
from drillhall.practice.remembering import memory_of
from drillhall.practice.reviewing import standings_of
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import FittingRow, MemoryRow, ParameterSetRow
from drillhall.store.queries import batch
from tests import cast
from tests.practice.small_hall import SmallHall
from tests.practice.test_own_numbers import OFFER
from tests.visits import Hall, Visitor
from tests.web.learner.test_pages import words

PAGE = "/standing/own-numbers"


def account_of(hall: Hall) -> int:
    with hall.store.look() as db:
        return next(one.id for one in list_accounts(db) if one.name == cast.LEARNER.name)


def drilled(hall: Hall, small: SmallHall, *, rounds: int, days_ago: int = 0) -> None:
    """Let the learner have so many rated rounds of one pair."""
    today = hall.clock().date()
    with hall.store.work() as db:
        row = MemoryRow(account_id=account_of(hall), pair_id=small.pairs[0], stability_days=9.0, difficulty=5.0)
        row.last_day, row.due_day = today.fromordinal(today.toordinal() - days_ago), today
        row.rounds, row.held_running, row.last_outcome, row.recalled = rounds, 2, "held", []
        db.add(row)


def work(hall: Hall) -> None:
    """Let a worker fit what was asked for."""
    job = next(one for one in JOBS if one.name == "fit learners' own numbers")
    job.run(Workshop(hall.store, FolderStorage(hall.folder / "pictures"), None, hall.clock))


def test_with_few_rounds_there_is_nothing_to_fit(learner: Visitor) -> None:
    assert "0 of 400" in words(learner, PAGE)
    sent = learner.post(PAGE)
    assert sent.status_code == 422
    assert "fewer than 400 rated rounds" in sent.text
    assert learner.post(f"{PAGE}/back").status_code == 303


def test_what_was_never_offered_is_not_there(hall: Hall, learner: Visitor) -> None:
    assert learner.post(f"{PAGE}/7/take").status_code == 404


def test_an_offer_is_made_taken_and_put_back(hall: Hall, small: SmallHall, learner: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    drilled(hall, small, rounds=400)
    assert "Fit to my rounds" in words(learner, PAGE)
    monkeypatch.setattr(own_numbers, "seek_offer", lambda db, account_id: OFFER)
    assert learner.post(PAGE).status_code == 303
    waits = words(learner, PAGE)
    assert "Being worked out since" in waits
    assert "Fit to my rounds" not in waits
    work(hall)
    told = words(learner, PAGE)
    assert "an offer stands below" in told
    assert all(f">{number}</td>" in told for number in (OFFER.rounds, OFFER.judged_on, "0.400", "0.300"))
    assert "The usual numbers hold" in told
    with hall.store.look() as db:
        number = db.scalars(select(ParameterSetRow.id)).one()
    assert learner.post(f"{PAGE}/{number}/take").status_code == 303
    taken = words(learner, PAGE)
    assert "by numbers fitted to 400 of your rounds" in taken
    assert "in force" in taken
    assert learner.post(f"{PAGE}/back").status_code == 303
    assert "Take it again" in words(learner, PAGE)


def test_where_the_usual_numbers_do_as_well_she_is_told_so(hall: Hall, small: SmallHall, learner: Visitor) -> None:
    drilled(hall, small, rounds=400)
    assert learner.post(PAGE).status_code == 303
    work(hall)
    told = words(learner, PAGE)
    assert "there is nothing to offer" in told
    assert "Fit to my rounds" in told


def test_without_the_package_that_fits_she_is_told_what_is_lacking(
    hall: Hall, small: SmallHall, learner: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    drilled(hall, small, rounds=400)
    monkeypatch.setitem(sys.modules, "fsrs_rs_python", None)
    sent = learner.post(PAGE)
    assert sent.status_code == 422
    assert "only where the extra" in sent.text
    with hall.store.look() as db:
        assert db.scalars(select(FittingRow)).all() == []


def test_how_long_a_pair_stays_steady_follows_from_her_own_numbers(hall: Hall, small: SmallHall, learner: Visitor) -> None:
    """At a target of 0.8, stability 9 gives an interval of 30 days by the usual numbers, and 40 by a flatter curve; twice that counts."""
    drilled(hall, small, rounds=3, days_ago=70)
    account, pair, found = account_of(hall), small.pairs[0], []
    with hall.store.work() as db:
        db.get_one(AccountRow, account).target_recall = 0.8
        own_numbers.keep_offer(db, account, replace(OFFER, parameters=(*USUAL_PARAMETERS[:20], 0.1)), at=hall.clock())
    for taken in (False, True):
        with hall.store.work() as db:
            db.scalars(select(ParameterSetRow)).one().taken_at = hall.clock() if taken else None
        with hall.store.look() as db:
            her, memory = batch.hold_learner(db, account), memory_of(batch.memories(db, account, [pair])[pair])
            found.append(standings_of(db, her, {pair: memory}, now=hall.clock())[pair])
    assert found == [Standing.SHAKY, Standing.STEADY]
