"""How fast today's drill is planned over the database, beside reading the due rows alone; and whether years of drilling slow it down.

Both sides are counted in time of this process on a core, so that what else the machine does does not count.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import func, insert, select, text
from sqlalchemy.orm import Session

from drillhall.core.confusion import week_of
from drillhall.practice.hall_rates import refresh_hall_rates
from drillhall.practice.planning import DrillPlan, plan_for
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import AnswerRow, DrillRow, MemoryRow, RoundRow, ShowingRow, TallyRow
from drillhall.store.session import Store
from tests.bench.growing import FEW, OWN
from tests.bench.grown.founders import A_DRILL, LEARNER, NOW, ROUNDS
from tests.bench.grown.halls import Sort, a_hall, to_read
from tests.bench.grown.visiting import cores_of
from tests.bench.rows import Measured, Row, Size, at_most, at_most_times, interleaved
from tests.engines import make_empty_sqlite
from tests.practice.rows import sum_tally
from tests.practice.small_hall import NOON, SmallHall, make_small_hall

TODAY = NOON.date()
TIMES = 16
ROUNDS_EACH = 2
"""So often is each of a thousand pairs drilled, five a day: for more than a year."""

DUE = "SELECT * FROM memory WHERE account_id = :learner AND due_day <= :today"


def rows(size: Size) -> Iterable[Row]:
    """The rows of this subject."""
    years = size.of(6, 2)
    yield Row(
        f"planning: today's drill after {years} years, beside the due rows by SQL", "s", at_most_times(2, plus=0.005), partial(_due, years)
    )
    yield Row(f"planning: after {years} years, beside after 1", "s", at_most_times(1.25, plus=0.002), partial(_flat, years))
    many, own, flat = Sort(answers=size.of(10**6, 10**4)), Sort(own=size.of(30_000, 3000)), at_most_times(1.2 if not size.quick else 2.0)
    for told, few, sort in (
        (f"in {many.answers:,} answers of {many.learners:,} beside {FEW.answers:,} of {FEW.learners}", FEW, many),
        (f"after {own.own:,} answers of her own beside {OWN.own}", OWN, own),
    ):
        yield Row(f"planning: {told}", "s", flat, partial(_grown, few, sort))
    for engine in ("sqlite", "postgresql"):
        pairs = size.of(1000, 100)
        told = f"planning: among {pairs:,} pairs, each begun, on {engine}"
        yield Row(told, "ms", at_most(20), partial(_among, engine, Sort(own=A_DRILL * ROUNDS_EACH * pairs // ROUNDS, pairs=pairs)))


def _due(years: int) -> Measured:
    with TemporaryDirectory() as folder:
        store, hall = _a_hall(Path(folder), years)
        try:
            return interleaved(lambda: _read_due(store, hall), lambda: _plan(store, hall), repeats=25, clock=time.process_time)
        finally:
            store.close()


def _flat(years: int) -> Measured:
    with TemporaryDirectory() as short, TemporaryDirectory() as long:
        (one, hall), (many, same) = _a_hall(Path(short), 1), _a_hall(Path(long), years)
        try:
            return interleaved(lambda: _plan(one, hall), lambda: _plan(many, same), repeats=25, clock=time.process_time)
        finally:
            one.close()
            many.close()


def _grown(few: Sort, many: Sort) -> Measured:
    one, other = to_read("sqlite", few), to_read("sqlite", many)
    return interleaved(
        lambda: _plan_of(one, LEARNER, NOW.date()), lambda: _plan_of(other, LEARNER, NOW.date()), repeats=25, clock=time.process_time
    )


def _among(engine: str, sort: Sort) -> Measured:
    """Measure the plan as Today and the drill ask for it, with the hall's rates kept as its job keeps them."""
    with a_hall(engine, sort) as store:
        with store.work() as db:
            refresh_hall_rates(db, today=NOW.date())
            assert db.scalar(select(func.count()).select_from(MemoryRow).where(MemoryRow.account_id == LEARNER)) == sort.pairs
        clock, took = cores_of(store), []
        for _ in range(TIMES):
            began = clock()
            _plan_of(store, LEARNER, NOW.date())
            took.append(1000 * (clock() - began))
        return Measured(median(took[1:]))


def _read_due(store: Store, hall: SmallHall) -> int:
    with store.look() as db:
        return len(db.execute(text(DUE), {"learner": hall.learner, "today": TODAY.isoformat()}).all())


def _plan(store: Store, hall: SmallHall) -> DrillPlan:
    return _plan_of(store, hall.learner, TODAY)


def _plan_of(store: Store, learner: int, today: date) -> DrillPlan:
    with store.look() as db:
        plan = plan_for(db, db.get_one(AccountRow, learner), today=today)
    assert plan.rounds
    return plan


def _a_hall(folder: Path, years: int) -> tuple[Store, SmallHall]:
    """Fill a hall in which one learner has drilled three pairs every third day for so long."""
    path = folder / "hall.sqlite"
    make_empty_sqlite(path)
    store = Store(f"sqlite:///{path}")
    with store.work() as db:
        hall = make_small_hall(db)
        forms = dict(zip(hall.pairs, ((0, 1), (1, 2), (0, 3)), strict=True))
        for place, (pair_id, sides) in enumerate(forms.items()):
            memory = MemoryRow(
                account_id=hall.learner, pair_id=pair_id, stability_days=9.0, difficulty=5.0, last_outcome="held", recalled=[]
            )
            memory.last_day, memory.due_day = TODAY - timedelta(days=9), TODAY - timedelta(days=place)
            memory.rounds, memory.held_running = years * 100, 2
            db.add(memory)
            cell = {"account_id": hall.learner, "pair_id": pair_id, "prompted": False, "rendition": "as taken", "choices": 2, "count": 3}
            cells = [
                cell
                | {"shown_form_id": hall.forms[side], "said_form_id": hall.forms[said], "fresh": fresh, "orientation": way, "week": week}
                for week in sorted({week_of(TODAY - timedelta(weeks=ago)) for ago in range(52 * years)})
                for side in sides
                for said in sides
                for fresh in (True, False)
                for way in ("left", "right")
            ]
            db.execute(insert(TallyRow), cells)
        sum_tally(db)
        _log(db, hall, years)
    return store, hall


def _log(db: Session, hall: SmallHall, years: int) -> None:
    """Write the log of those drills, one picture a round."""
    asks = [{"kind": "form", "choices": [str(hall.forms[0]), str(hall.forms[1])], "key": str(hall.forms[0]), "trait": ""}]
    drills: list[dict[str, Any]] = []
    rounds: list[dict[str, Any]] = []
    showings: list[dict[str, Any]] = []
    answers: list[dict[str, Any]] = []
    for number in range(1, 120 * years):
        at = NOON - timedelta(days=3 * number)
        drill = {"id": f"d{number}", "account_id": hall.learner, "zone": "UTC", "planned_at": at, "planned_day": at.date(), "until": at}
        drills.append(drill | {"minutes": 5, "showing_ms": 9000, "pace_ms": 4000, "first_at": at, "local_day": at.date(), "ended_at": at})
        for place, pair_id in enumerate(hall.pairs):
            one = 3 * number + place
            of_hers = {"id": one, "account_id": hall.learner, "place": place}
            of_drill = {"drill_id": f"d{number}", "pair_id": pair_id, "catalogue_id": hall.catalogue}
            rounds.append(of_hers | of_drill | {"why": "due", "rounds_before": 9})
            showings.append(
                of_hers | {"round_id": one, "picture_id": 1, "form_id": hall.forms[0], "first_sight": False, "fresh": False, "asks": asks}
            )
            said = {"showing_id": one, "account_id": hall.learner, "ask": 0, "said": str(hall.forms[0]), "sure": "certain", "seconds": 4.0}
            answers.append(said | {"id": f"a{one}", "at": at, "phone_at": at, "received_at": at})
    for table, rows_of in ((DrillRow, drills), (RoundRow, rounds), (ShowingRow, showings), (AnswerRow, answers)):
        db.execute(insert(table), rows_of)
