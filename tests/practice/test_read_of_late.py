"""What is read of a learner's log by short cuts is what reading all of it gives, whatever she has answered, twice or not at all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime, time, timedelta
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session

from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow
from drillhall.store.queries import lately, log
from drillhall.store.queries.standing import sure_answers
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall

SURE = (None, "certain", "certain", "probable", "possible")


def write_log(db: Session, hall: SmallHall, dice: Random, *, drills: int) -> None:
    """Write drills of two learners: of rounds begun or not, of answers given at one time, twice, or without saying how sure."""
    rows: dict[Any, list[dict[str, Any]]] = {DrillRow: [], RoundRow: [], ShowingRow: [], AnswerRow: []}
    for number in range(1, drills + 1):
        whose, at = dice.choice((hall.learner, hall.learner, hall.stranger)), NOON - timedelta(hours=dice.randrange(400))
        drill = {"id": f"d{number}", "account_id": whose, "zone": "UTC", "planned_at": at, "planned_day": at.date(), "until": at}
        drill |= {"minutes": 5, "showing_ms": 9000, "pace_ms": 4000, "first_at": at, "local_day": at.date(), "ended_at": at}
        rows[DrillRow].append(drill)
        for place in range(dice.randrange(3)):
            one = 10 * number + place
            of_drill = {"id": one, "drill_id": f"d{number}", "pair_id": dice.choice(hall.pairs), "catalogue_id": hall.catalogue}
            rows[RoundRow].append(of_drill | {"account_id": whose, "place": place, "why": "due", "rounds_before": 9})
            for showing in range(10 * one, 10 * one + 2):
                asks = [{"kind": "form", "choices": [str(form) for form in hall.forms[:2]], "key": str(hall.forms[0]), "trait": ""}]
                shown = {"id": showing, "round_id": one, "account_id": whose, "place": showing % 10, "picture_id": 1, "asks": asks}
                rows[ShowingRow].append(shown | {"form_id": hall.forms[0], "first_sight": False, "fresh": False})
                rows[AnswerRow] += [answer | {"account_id": whose, "showing_id": showing} for answer in answers(hall, dice, showing, at)]
    for table, written in rows.items():
        db.execute(insert(table), written)


def answers(hall: SmallHall, dice: Random, showing: int, at: Any) -> Iterator[dict[str, Any]]:
    for again in range(dice.choice((0, 1, 1, 2))):
        told = {"id": f"a{dice.randrange(10**6)}-{showing}-{again}", "ask": 0, "said": str(dice.choice(hall.forms[:2])), "seconds": 4.0}
        given = at + timedelta(minutes=dice.randrange(3))
        yield told | {"sure": dice.choice(SURE), "at": given, "phone_at": given, "received_at": given}


def test_short_cuts_read_what_the_whole_log_tells(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        write_log(db, hall, Random(1), drills=120)
        hers = [row for row in db.scalars(select(AnswerRow)) if row.account_id == hall.learner]
        rounds = {row.id: row for row in db.scalars(select(RoundRow).where(RoundRow.account_id == hall.learner))}
        of_drill = {row.id: row for row in db.scalars(select(DrillRow).where(DrillRow.account_id == hall.learner))}
        latest = sorted(of_drill.values(), key=lambda row: row.first_at or NOON, reverse=True)[: lately.RECENT_DRILLS]
        shown = {answer.showing_id // 10 for answer in hers}, Counter(showing // 10 for showing in {answer.showing_id for answer in hers})

        told: Counter[tuple[str, int]] = Counter()
        for drill_id, pair_id, count in lately.recent_pictures(db, hall.learner):
            told[drill_id, pair_id] += count
        times = [of_drill[drill_id].first_at for drill_id, *_ in lately.recent_pictures(db, hall.learner)]
        assert times == sorted(times, key=lambda at: at or NOON, reverse=True)
        least = latest[-1].first_at
        whole = Counter[tuple[str, int]]()
        for round_id, count in shown[1].items():
            whole[rounds[round_id].drill_id, rounds[round_id].pair_id] += count
        for cell in whole.keys() | told.keys():
            if of_drill[cell[0]].first_at != least:  # of those begun at one time either may be the last one read
                assert told[cell] == (whole[cell] if (of_drill[cell[0]].first_at or NOON) > (least or NOON) else 0)

        pairs = {row.pair_id for row in rounds.values()}
        for besides in (set(), {hall.pairs[0]}, pairs):
            assert dict(log.drilled_pairs(db, hall.learner, besides=besides)) == dict.fromkeys(pairs - besides, hall.catalogue)

        firsts = {min((one.at, one.id) for one in hers if one.showing_id == answer.showing_id) for answer in hers}
        since = NOON - timedelta(hours=200)
        certain = [one.at for one in hers if one.sure == "certain" and one.at >= since and (one.at, one.id) in firsts]
        assert [one.at for one in lately.certain_answers(db, hall.learner, since=since)] == sorted(certain, reverse=True)[:60]

        sure = sorted((one for one in hers if one.sure is not None), key=lambda one: (one.at, one.id), reverse=True)
        first_sure = {min((one.at, one.id) for one in sure if one.showing_id == other.showing_id) for other in sure}
        for limit in (1, 7, 2000):
            counted = Counter((one.sure, one.said) for one in sure[:limit] if (one.at, one.id) in first_sure)
            found: Counter[tuple[str | None, str]] = Counter()
            for one in sure_answers(db, hall.learner, limit=limit):
                found[one.sure, one.said] += one.times
            assert found == counted


def test_a_day_that_began_as_early_as_it_can_is_read_whole(sqlite_store: Store, quick_hall: SmallHall) -> None:
    """Pacific/Kiritimati is 14 hours ahead of UTC (IANA time zone database), farther than any other zone."""
    day = NOON.date()
    with sqlite_store.work() as db:
        write_log(db, quick_hall, Random(1), drills=40)
        begun = datetime.combine(day, time.min, ZoneInfo("Pacific/Kiritimati"))
        db.execute(update(DrillRow).values(zone="Pacific/Kiritimati", first_at=begun, local_day=day))
        hers = select(RoundRow).join(ShowingRow).join(AnswerRow).where(RoundRow.account_id == quick_hall.learner).distinct()
        answered = Counter(row.pair_id for row in db.scalars(hers))
        assert answered
        assert lately.rounds_on(db, quick_hall.learner, day) == answered
        assert {one.round_id for one in lately.shown_on(db, quick_hall.learner, day)} == {row.id for row in db.scalars(hers)}
        assert lately.rounds_on(db, quick_hall.learner, day - timedelta(days=1)) == {}
