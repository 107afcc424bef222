"""Ten founders, their group, and what they have answered; the hall's own fold makes their memories, tallies and sights."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import count
from random import Random
from typing import Any, Final

from sqlalchemy import insert
from sqlalchemy.orm import Session

from drillhall.practice.folding import rebuild
from drillhall.store.models.catalogue import StewardRow, TakenSetRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow
from drillhall.store.models.seasons import AssignmentRow
from tests.bench.grown.catalogue import MADE_AT, pictures_of

FOUNDERS: Final = 10
LEARNER: Final = 1
"""The learner who is looked at: the same in every hall."""

TEACHER: Final = 1_000_001
"""The account that teaches the founders' class and writes the catalogue."""

ROUNDS, SHOWINGS = 5, 4
A_DRILL: Final = ROUNDS * SHOWINGS
EACH: Final = 100
"""Answers of a founder."""

NOW: Final = datetime(2031, 3, 3, 18, tzinfo=UTC)
READY_FROM: Final = 1_500_000_000
"""Rounds and showings of drills that wait to be played are numbered from here, far from all others."""

GROUP: Final = "00000000-0000-4000-8000-000000000001"


@dataclass
class Log:
    """Rows of drills, by table; each next round and showing takes the next number."""

    pairs: int
    rounds_from: int = 1
    showings_from: int = 1

    def __post_init__(self) -> None:
        self.rows: dict[Any, list[dict[str, Any]]] = {table: [] for table in (DrillRow, RoundRow, ShowingRow, AnswerRow)}
        self._round, self._showing = count(self.rounds_from), count(self.showings_from)

    def drill(self, account: int, place: int, at: datetime, dice: Random, *, played: bool = True) -> None:
        """Add one drill of a learner, whose pairs come round in turn, played to its end or not at all."""
        drill_id = f"d{account}-{place}"
        told = {"id": drill_id, "account_id": account, "zone": "UTC", "minutes": 5, "showing_ms": 8000, "pace_ms": 4000}
        times = {"first_at": at, "local_day": at.date(), "ended_at": at + timedelta(minutes=5)} if played else {}
        self.rows[DrillRow].append(told | {"planned_at": at, "planned_day": at.date(), "until": at + timedelta(hours=20)} | times)
        for number in range(ROUNDS):
            self._add_round(account, drill_id, number, 1 + (place * ROUNDS + number + account) % self.pairs, at, dice if played else None)

    def _add_round(self, account: int, drill_id: str, place: int, pair: int, at: datetime, dice: Random | None) -> None:
        round_id, told = next(self._round), {"drill_id": drill_id, "account_id": account, "pair_id": pair, "catalogue_id": 1}
        self.rows[RoundRow].append(told | {"id": round_id, "place": place, "why": "due", "rounds_before": 1, "ends_at_miss": False})
        for number in range(SHOWINGS):
            showing, form = next(self._showing), pair + (round_id + number) % 2
            pictures = pictures_of(form)
            seen = {"picture_id": pictures[(round_id + number // 2) % len(pictures)], "form_id": form, "orientation": "left"}
            asks = [{"kind": "form", "choices": [str(pair), str(pair + 1)], "key": str(form), "trait": ""}]
            of_hers = {"id": showing, "round_id": round_id, "account_id": account, "place": number, "first_sight": True, "fresh": True}
            self.rows[ShowingRow].append(of_hers | seen | {"asks": asks})
            if dice is not None:
                given_at = at + timedelta(seconds=15 * (place * SHOWINGS + number))
                self.rows[AnswerRow].append(_answer(account, showing, pair, form, given_at, dice))


def _answer(account: int, showing: int, pair: int, form: int, at: datetime, dice: Random) -> dict[str, Any]:
    said = form if dice.random() > 0.1 + 0.25 * (pair % 7 == 0) else 2 * pair + 1 - form
    told = {"id": str(uuid.UUID(int=showing)), "showing_id": showing, "account_id": account, "ask": 0, "said": str(said)}
    return told | {"sure": dice.choice(("certain", "probable", "possible")), "seconds": 3.5, "at": at, "phone_at": at, "received_at": at}


def write_founders(db: Session, *, pairs: int, histories: Iterable[int] = (), seed: int = 500) -> None:
    """Write the founders with what each has answered (`histories`, else EACH), and have the hall fold it."""
    given = [*histories, *[EACH] * FOUNDERS][:FOUNDERS]
    log, dice = Log(pairs), Random(seed)
    _people(db)
    for account, answers in enumerate(given, 1):
        drills = answers // A_DRILL
        for place in range(drills):
            ago = timedelta(days=max(1, round(140 * (drills - place) / drills))) if drills <= 140 else timedelta(days=drills - place)
            log.drill(account, place, NOW - ago - timedelta(minutes=account), dice)
    write(db, log)
    rebuild(db)


def ready_drills(*, pairs: int, count: int, places_from: int) -> Log:
    """Return drills of the learner that wait to be played, one a day from today on."""
    log = Log(pairs, rounds_from=READY_FROM, showings_from=READY_FROM)
    for place in range(count):
        log.drill(LEARNER, places_from + place, NOW + timedelta(days=place), Random(place), played=False)
    return log


def write(db: Session, log: Log) -> None:
    """Write a log's rows."""
    for table, rows in log.rows.items():
        if rows:
            db.execute(insert(table), rows)


def _people(db: Session) -> None:
    people = {number: f"Pupil {number}" for number in range(1, FOUNDERS + 1)} | {TEACHER: "Teacher"}
    plain = {"passphrase_hash": "none", "zone": "UTC", "created_at": MADE_AT}
    db.execute(insert(AccountRow), [plain | {"id": n, "name": name, "name_folded": name.lower()} for n, name in people.items()])
    db.execute(insert(GroupRow), [{"id": 1, "public_id": GROUP, "title": "A class", "kind": "class", "made_at": MADE_AT}])
    roles = {number: "teacher" if number == TEACHER else "member" for number in people}
    joined = {"group_id": 1, "since": MADE_AT}
    db.execute(insert(MembershipRow), [joined | {"id": number, "account_id": number, "role": role} for number, role in roles.items()])
    day = MADE_AT.date()
    db.execute(insert(AssignmentRow), [{"id": 1, "group_id": 1, "pair_set_id": 1, "from_day": day, "made_at": MADE_AT}])
    db.execute(insert(StewardRow), [{"catalogue_id": 1, "account_id": TEACHER}])
    learners = range(1, FOUNDERS + 1)
    db.execute(insert(TakenSetRow), [{"account_id": number, "pair_set_id": 1, "taken_at": MADE_AT} for number in learners])
