"""The hall's rates stand still until they are summed again; and a further drill on one day is a short one."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import select

from drillhall.acts.refresh_hall_rates import refresh_hall_rates
from drillhall.practice import planning
from drillhall.practice.planning import MOST_AGAIN
from drillhall.practice.skill import the_skill
from drillhall.store.models.catalogue import TakenSetRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import HallRateRow, TallyRow
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.small_hall import NOON, SmallHall, make_small_hall

TODAY = NOON.date()


def test_what_others_miss_counts_once_it_is_summed(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        db.add(TakenSetRow(account_id=hall.stranger, pair_set_id=hall.pair_set, taken_at=NOON))
        play(db, hall.stranger, at=NOON, knows=lambda view, question: False)
        assert the_skill(db, hall.learner, today=TODAY).hall == {}
        assert refresh_hall_rates(db, at=NOON) == len(db.scalars(select(HallRateRow)).all()) > 0
        skill = the_skill(db, hall.learner, today=TODAY)
        assert all(cell.missed == cell.shown > 0 for cell in skill.hall.values())
        assert sum(cell.shown for cell in skill.hall.values()) == sum(db.scalars(select(TallyRow.count).where(TallyRow.choices == 2)))


def test_summed_again_it_holds_each_answer_once_and_forgets_a_year_old_one(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        play(db, quick_hall.learner, at=NOON)
        refresh_hall_rates(db, at=NOON)
        before = sum(db.scalars(select(HallRateRow.shown)))
        refresh_hall_rates(db, at=NOON)
        assert sum(db.scalars(select(HallRateRow.shown))) == before
        assert refresh_hall_rates(db, at=NOON + timedelta(days=400)) == 0


def test_a_further_drill_on_one_day_is_bounded_and_the_next_days_is_not(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = make_small_hall(db, pictures=50)
        account = db.get_one(AccountRow, hall.learner)
        account.minutes_a_day = 30
        play(db, hall.learner, at=NOON)
        again = sum(one.showings for one in planning.plan_for(db, account, today=TODAY).rounds)
        tomorrow = sum(one.showings for one in planning.plan_for(db, account, today=TODAY + timedelta(days=1)).rounds)
    assert again <= MOST_AGAIN + 2, "a round begun is finished"
    assert tomorrow >= 2 * MOST_AGAIN
