"""A look ahead: words until the hall knows enough, then numbers; and the trait that lies behind a mix-up."""

from __future__ import annotations

from datetime import timedelta
from random import Random

import pytest
from sqlalchemy import delete
from sqlalchemy.orm import Session

from drillhall.core.confusion import week_of
from drillhall.errors import Invalid
from drillhall.practice.looking_ahead import AheadPage, look_ahead
from drillhall.practice.recalibrating import refresh_recalibration, the_recalibration
from drillhall.practice.reviewing import the_standing
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import MemoryRow, PromptTallyRow, TallyRow
from drillhall.store.session import Store
from tests.practice.rows import sum_tally
from tests.practice.small_hall import NOON, SmallHall

TODAY = NOON.date()


def remember(db: Session, account_id: int, pair_id: int, *, stability: float, recalled: list[list[float]] | None = None) -> None:
    db.add(
        MemoryRow(
            account_id=account_id,
            pair_id=pair_id,
            stability_days=stability,
            difficulty=5.0,
            last_day=TODAY - timedelta(days=2),
            rounds=2 if recalled else 1,
            held_running=1,
            last_outcome="held",
            due_day=TODAY + timedelta(days=round(stability)),
            recalled=recalled or [],
        )
    )


def count(db: Session, hall: SmallHall, pair: int, shown: int, said: int, times: int) -> None:
    db.add(
        TallyRow(
            account_id=hall.learner,
            pair_id=hall.pairs[pair],
            shown_form_id=hall.forms[shown],
            said_form_id=hall.forms[said],
            week=week_of(TODAY),
            fresh=True,
            prompted=False,
            rendition="as taken",
            orientation="",
            choices=2,
            count=times,
        )
    )
    sum_tally(db)


def looked(store: Store, hall: SmallHall, days: int | None = None) -> AheadPage:
    with store.look() as db:
        return look_ahead(db, hall.learner, by=None if days is None else TODAY + timedelta(days=days), now=NOON)


def test_a_newcomer_has_new_pairs_ahead_and_nothing_to_fade(sqlite_store: Store, quick_hall: SmallHall) -> None:
    page = looked(sqlite_store, quick_hall)
    assert page.faded == ()
    assert sum(week.new_pairs for week in page.weeks) == pytest.approx(3)
    assert page.by == TODAY + timedelta(days=28)


def test_what_fades_most_stands_first_and_in_words(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        remember(db, quick_hall.learner, quick_hall.pairs[0], stability=200.0)
        remember(db, quick_hall.learner, quick_hall.pairs[1], stability=0.2)
    page = looked(sqlite_store, quick_hall, 50)
    assert [one.pair.id for one in page.faded] == [quick_hall.pairs[1], quick_hall.pairs[0]]
    assert [one.chance for one in page.faded] == [None, None]
    assert page.faded[1].word == "likely"
    assert not page.in_numbers


@pytest.mark.parametrize(("learners", "rounds", "known"), [(5, 60, True), (4, 90, False), (5, 50, False)])
def test_numbers_come_with_300_rounds_of_five_learners(
    sqlite_store: Store, quick_hall: SmallHall, learners: int, rounds: int, known: bool
) -> None:
    dice = Random(7)
    with sqlite_store.work() as db:
        for number in range(learners):
            other = AccountRow(name=f"L{number}", name_folded=f"l{number}", passphrase_hash="none", zone="UTC", created_at=NOON)
            db.add(other)
            db.flush()
            # Held seven times in ten whatever the scheduler expected: the numbers must say so, and it must not be believed.
            recalled = [[dice.uniform(0.85, 0.99), int(dice.random() < 0.7)] for _ in range(rounds)]
            remember(db, other.id, quick_hall.pairs[0], stability=9.0, recalled=recalled)
        remember(db, quick_hall.learner, quick_hall.pairs[0], stability=30.0)
    assert not looked(sqlite_store, quick_hall, 10).in_numbers, "a page fits nothing"
    with sqlite_store.work() as db:
        assert (refresh_recalibration(db) is not None) is known
    page = looked(sqlite_store, quick_hall, 10)
    assert page.in_numbers is known
    if known:
        assert page.faded[0].chance == pytest.approx(0.7, abs=0.12)


def test_numbers_fitted_to_rounds_that_are_gone_go_with_them(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        for learner in range(5):
            other = AccountRow(name=f"L{learner}", name_folded=f"l{learner}", passphrase_hash="none", zone="UTC", created_at=NOON)
            db.add(other)
            db.flush()
            remember(db, other.id, hall.pairs[0], stability=9.0, recalled=[[0.9, n % 3 > 0] for n in range(60)])
        fitted = refresh_recalibration(db)
        assert fitted is not None
        assert the_recalibration(db) == refresh_recalibration(db) == fitted
        db.execute(delete(MemoryRow))
        assert refresh_recalibration(db) is None
        assert the_recalibration(db) is None


@pytest.mark.parametrize("days", [-1, 61])
def test_a_day_that_nobody_can_see_is_refused(sqlite_store: Store, quick_hall: SmallHall, days: int) -> None:
    with pytest.raises(Invalid, match="nobody can see further") as refused:
        looked(sqlite_store, quick_hall, days)
    assert refused.value.field == "by"


@pytest.mark.parametrize(("asked", "missed", "told"), [(12, 6, True), (6, 4, False), (20, 0, False)])
def test_the_trait_behind_a_mix_up_is_told_once_she_was_asked_often_enough(
    sqlite_store: Store, quick_hall: SmallHall, asked: int, missed: int, told: bool
) -> None:
    with sqlite_store.work() as db:
        count(db, quick_hall, 0, 0, 1, 3)
        count(db, quick_hall, 0, 1, 1, 4)
        hers = {"account_id": quick_hall.learner, "pair_id": quick_hall.pairs[0], "catalogue_id": quick_hall.catalogue}
        db.add(PromptTallyRow(**hers, trait="bill", week=week_of(TODAY), missed=missed, shown=asked))
    with sqlite_store.look() as db:
        page = the_standing(db, quick_hall.learner, now=NOON)
    assert ("Behind it lies the bill" in page.pairs[0].behind) is told


def test_without_a_mix_up_nothing_lies_behind_it(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        count(db, quick_hall, 0, 1, 1, 4)
        hers = {"account_id": quick_hall.learner, "pair_id": quick_hall.pairs[0], "catalogue_id": quick_hall.catalogue}
        db.add(PromptTallyRow(**hers, trait="bill", week=week_of(TODAY), missed=6, shown=12))
    with sqlite_store.look() as db:
        assert the_standing(db, quick_hall.learner, now=NOON).pairs[0].behind == ""
