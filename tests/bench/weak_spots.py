"""How fast a class's weak spots are told: 200 learners, 300 pairs, a million answers, beside one indexed aggregate of the same rows."""

from __future__ import annotations

import random
import uuid
from collections import Counter
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from functools import cache
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

from sqlalchemy import insert, text
from sqlalchemy.orm import Session

from drillhall.core.confusion import week_of
from drillhall.practice.weak_spots.counting import Chosen
from drillhall.practice.weak_spots.report import WeakSpots, the_weak_spots
from drillhall.store.base import Row as Base
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePairRow, CatalogueRow, PairSetRow, StagePairRow, StageRow
from drillhall.store.models.concepts import ConceptRow, FormRow, NameRow, PairRow, VernacularRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow, TallyRow
from drillhall.store.models.seasons import AssignmentRow
from drillhall.store.session import Store
from tests.bench.rows import Measured, Row, Size, at_most_times, interleaved
from tests.engines import make_empty_sqlite

FIRST: Final = datetime(2031, 1, 6, 18, tzinfo=UTC)
DAYS: Final = 140
TODAY: Final = (FIRST + timedelta(days=DAYS)).date()
A_ROUND, A_DRILL = 3, 30

FLOOR: Final = (
    "SELECT pair_id, shown_form_id, said_form_id, SUM(count) FROM tally WHERE account_id IN ({}) AND pair_id IN ({}) "
    "GROUP BY pair_id, shown_form_id, said_form_id"
)


def rows(size: Size) -> Iterable[Row]:
    """The row of this subject."""
    learners, pairs, answers = size.of(200, 12), size.of(300, 24), size.of(1_000_000, 6_000)
    yield Row(
        f"weak spots: {learners} learners, {pairs} pairs, {answers:,} answers",
        "s",
        at_most_times(2, plus=0.25 if size.quick else 0.0),  # of little, naming forms and traits costs more than counting
        lambda: _measure(learners, pairs, answers, size.seed),
    )


def _measure(learners: int, pairs: int, answers: int, seed: int) -> Measured:
    with TemporaryDirectory() as folder:
        store = a_class(Path(folder), learners=learners, pairs=pairs, answers=answers, seed=seed)
        try:
            return interleaved(lambda: _floor(store, learners, pairs), lambda: _ours(store))
        finally:
            store.close()


def _floor(store: Store, learners: int, pairs: int) -> int:
    with store.look() as db:
        query = FLOOR.format(",".join(map(str, range(1, learners + 1))), ",".join(map(str, range(1, pairs + 1))))
        return len(db.execute(text(query)).all())


def _ours(store: Store) -> WeakSpots:
    with store.look() as db:
        told = the_weak_spots(db, 1, "teacher", Chosen(), today=TODAY)
    assert told.answers
    assert told.lessons
    return told


def a_class(folder: Path, *, learners: int, pairs: int, answers: int, seed: int) -> Store:
    """Fill a hall with a class that has answered so much; learners, pairs and the group are numbered from 1."""
    path = folder / "hall.sqlite"
    make_empty_sqlite(path)
    store = Store(f"sqlite:///{path}")
    with store.work() as db:
        _people(db, learners)
        _catalogue(db, pairs)
    _log(store, learners, pairs, answers, random.Random(seed))
    return store


def _people(db: Session, learners: int) -> None:
    named = ((f"Pupil {number}", number) for number in range(1, learners + 1))
    db.add_all(
        AccountRow(id=n, name=name, name_folded=name.lower(), passphrase_hash="none", zone="UTC", created_at=FIRST) for name, n in named
    )
    db.add(GroupRow(id=1, public_id=str(uuid.UUID(int=1)), title="A large class", kind="class", made_at=FIRST))
    db.flush()
    joined = FIRST - timedelta(days=1)
    db.add_all(MembershipRow(group_id=1, account_id=number, role="member", since=joined) for number in range(1, learners + 1))


def _catalogue(db: Session, pairs: int) -> None:
    """Two forms a pair, each form in two pairs on end: pair n has the forms n and n + 1."""
    db.add(CatalogueRow(id=1, key="large", title="Large", subject="bird", list_name="List", made_at=FIRST, changed_at=FIRST))
    for number in range(1, pairs + 2):
        db.add(ConceptRow(id=number, taxon_concept_id=f"example:{number}"))
        db.flush()
        db.add(NameRow(concept_id=number, according_to="List", scientific_name=f"Fictavis n{number}"))
        db.add(VernacularRow(concept_id=number, language="en", name=f"Wader {number}"))
        db.add(FormRow(id=number, concept_id=number))
        db.flush()
        db.add(CatalogueFormRow(catalogue_id=1, form_id=number, key=f"form-{number}", place=number))
        content = {
            "content_sha256": f"{number:064x}",
            "fingerprint": number,
            "width_px": 9,
            "height_px": 9,
            "alt": "A wader.",
            "made_at": FIRST,
        }
        db.add(PictureRow(id=number, public_id=str(uuid.UUID(int=number)), form_id=number, use="practice", medium="Drawing", **content))
    db.add(PairSetRow(id=1, catalogue_id=1, key="all", title="All"))
    db.flush()
    db.add(StageRow(id=1, pair_set_id=1, place=0, title="All"))
    db.flush()
    for number in range(1, pairs + 1):
        db.add(PairRow(id=number, first_form_id=number, second_form_id=number + 1))
        db.flush()
        db.add(CataloguePairRow(id=number, catalogue_id=1, pair_id=number, key=f"pair-{number}", place=number))
        db.flush()
        db.add(StagePairRow(stage_id=1, catalogue_pair_id=number, place=number))
    db.add(AssignmentRow(group_id=1, pair_set_id=1, from_day=FIRST.date(), made_at=FIRST))


def _log(store: Store, learners: int, pairs: int, answers: int, dice: random.Random) -> None:
    """Write drills, rounds, showings, answers, and the tally that they come to."""
    numbers = count(1)
    for account in range(1, learners + 1):
        log: dict[type[Base], list[dict[str, Any]]] = {table: [] for table in (DrillRow, RoundRow, ShowingRow, AnswerRow)}
        tally: Counter[tuple[Any, ...]] = Counter()
        each = answers // learners
        for place in range(each):
            at = FIRST + timedelta(days=DAYS * place / each)
            if place % A_DRILL == 0:
                drill = f"{account}-{place}"
                log[DrillRow].append(_drill(drill, account, at))
            if place % A_ROUND == 0:
                pair, round_id = dice.randrange(1, pairs + 1), next(numbers)
                log[RoundRow].append(_round(round_id, drill, account, pair, place % A_DRILL))
            shown = pair + dice.randrange(2)
            said = shown if dice.random() > 0.1 + 0.3 * (pair % 7 == 0) else 2 * pair + 1 - shown
            seen = {"fresh": dice.random() < 0.5, "prompted": dice.random() < 0.1, "orientation": dice.choice(("left", "right", "lateral"))}
            number = next(numbers)
            log[ShowingRow].append(_showing(number, round_id, account, place % A_ROUND, shown) | seen)
            log[AnswerRow].append(_answer(number, account, said, at))
            tally[(pair, shown, said, _week(at.date()), *seen.values())] += 1
        with store.work() as db:
            for table, rows_of_it in log.items():
                db.execute(insert(table.__table__), rows_of_it)
            cells = [dict(zip(TALLIED, key, strict=True), count=n, **_told(account)) for key, n in tally.items()]
            db.execute(insert(TallyRow.__table__), cells)


TALLIED: Final = ("pair_id", "shown_form_id", "said_form_id", "week", "fresh", "prompted", "orientation")


def _told(account: int) -> dict[str, Any]:
    return {"account_id": account, "rendition": "as taken", "choices": 2}


def _drill(drill: str, account: int, at: datetime) -> dict[str, Any]:
    told = {"id": drill, "account_id": account, "zone": "UTC", "minutes": 5, "showing_ms": 8000, "pace_ms": 4000}
    return told | {"planned_at": at, "planned_day": at.date(), "until": at, "first_at": at, "local_day": at.date()}


def _round(number: int, drill: str, account: int, pair: int, place: int) -> dict[str, Any]:
    told = {"id": number, "drill_id": drill, "account_id": account, "pair_id": pair, "catalogue_id": 1}
    return told | {"place": place, "why": "due", "rounds_before": 1}


def _showing(number: int, round_id: int, account: int, place: int, shown: int) -> dict[str, Any]:
    asks = [{"kind": "form", "choices": [str(shown), "0"], "key": str(shown), "trait": ""}]
    told = {"id": number, "round_id": round_id, "account_id": account, "place": place, "picture_id": shown, "form_id": shown}
    return told | {"first_sight": False, "asks": asks}


def _answer(showing: int, account: int, said: int, at: datetime) -> dict[str, Any]:
    told = {"id": str(uuid.UUID(int=showing)), "showing_id": showing, "account_id": account, "ask": 0, "said": str(said)}
    return told | {"sure": "probable", "seconds": 4.0, "at": at, "phone_at": at, "received_at": at}


@cache
def _week(day: date) -> int:
    return week_of(day)
