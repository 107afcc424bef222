"""What is read of a learner's log: her drills, rounds, showings and answers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from sqlalchemy import ColumnElement, and_, exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from drillhall.core.values import Sure
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow

RECENT_DRILLS = 60
"""Older drills weigh less than 0.93 ** 60 = 1.3 % in the share of turns, so they are not read."""


def counts() -> ColumnElement[bool]:
    """Return the condition that an answer is no repeat: of several to one question, the one given first counts."""
    other = aliased(AnswerRow)
    earlier = or_(other.at < AnswerRow.at, and_(other.at == AnswerRow.at, other.id < AnswerRow.id))
    return ~exists().where(other.showing_id == AnswerRow.showing_id, other.ask == AnswerRow.ask, earlier)


def recent_pictures(db: Session, account_id: int) -> list[tuple[str, int, int]]:
    """Return (drill, pair, pictures answered) of the learner's latest drills, the latest drill first."""
    latest = (
        select(DrillRow.id, DrillRow.first_at)
        .where(DrillRow.account_id == account_id, DrillRow.first_at.is_not(None))
        .order_by(DrillRow.first_at.desc())
        .limit(RECENT_DRILLS)
        .subquery()
    )
    query = (
        select(latest.c.id, RoundRow.pair_id, func.count(func.distinct(ShowingRow.id)))
        .join(RoundRow, RoundRow.drill_id == latest.c.id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .group_by(latest.c.id, latest.c.first_at, RoundRow.pair_id)
        .order_by(latest.c.first_at.desc())
    )
    return [(drill_id, pair_id, int(count)) for drill_id, pair_id, count in db.execute(query)]


def rounds_begun(db: Session, account_id: int, pair_ids: Iterable[int]) -> dict[int, int]:
    """Return how many rounds of each pair have an answer."""
    query = (
        select(RoundRow.pair_id, func.count(func.distinct(RoundRow.id)))
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(RoundRow.account_id == account_id, RoundRow.pair_id.in_(list(pair_ids)))
        .group_by(RoundRow.pair_id)
    )
    return {pair_id: int(count) for pair_id, count in db.execute(query)}


def rounds_on(db: Session, account_id: int, day: date) -> dict[int, int]:
    """Return how many rounds of each pair were begun on a local day."""
    query = (
        select(RoundRow.pair_id, func.count(func.distinct(RoundRow.id)))
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(DrillRow.account_id == account_id, DrillRow.local_day == day)
        .group_by(RoundRow.pair_id)
    )
    return {pair_id: int(count) for pair_id, count in db.execute(query)}


def recent_seconds(db: Session, account_id: int, *, limit: int = 120) -> list[tuple[int, float, bool]]:
    """Return (showing, seconds, whether a form was named) of the learner's latest answers."""
    query = (
        select(AnswerRow.showing_id, AnswerRow.seconds, AnswerRow.sure.is_not(None))
        .where(AnswerRow.account_id == account_id, counts())
        .order_by(AnswerRow.at.desc())
        .limit(limit)
    )
    return [(showing_id, seconds, bool(named)) for showing_id, seconds, named in db.execute(query)]


def open_drill(db: Session, account_id: int, *, now: datetime) -> DrillRow | None:
    """Return the learner's drill that is neither ended nor too old, the latest planned, or None."""
    query = (
        select(DrillRow)
        .where(DrillRow.account_id == account_id, DrillRow.ended_at.is_(None), DrillRow.until > now)
        .order_by(DrillRow.planned_at.desc())
        .limit(1)
    )
    return db.scalars(query).first()


def certain_answers(db: Session, account_id: int, *, since: datetime, limit: int = 60) -> list[tuple[AnswerRow, ShowingRow, RoundRow]]:
    """Return the learner's latest answers given as certain, the latest first, with what was shown."""
    query = (
        select(AnswerRow, ShowingRow, RoundRow)
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .where(AnswerRow.account_id == account_id, AnswerRow.sure == Sure.CERTAIN.value, AnswerRow.at >= since, counts())
        .order_by(AnswerRow.at.desc())
        .limit(limit)
    )
    return [(answer, showing, logged) for answer, showing, logged in db.execute(query)]


def sure_answers(db: Session, account_id: int, *, limit: int = 2000) -> list[tuple[str, str, str]]:
    """Return (how sure, said, key) of the learner's latest answers to two-choice questions; of repeats the one given first."""
    query = (
        select(AnswerRow.showing_id, AnswerRow.ask, AnswerRow.sure, AnswerRow.said, ShowingRow.asks)
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .where(AnswerRow.account_id == account_id, AnswerRow.sure.is_not(None))
        .order_by(AnswerRow.at.desc(), AnswerRow.id.desc())
        .limit(limit)
    )
    first: dict[tuple[int, int], tuple[str, str, str]] = {}
    for showing_id, ask, sure, said, asks in db.execute(query):
        if len(asks[ask]["choices"]) == 2:
            first[(showing_id, ask)] = (str(sure), said, asks[ask]["key"])
    return list(first.values())


def drilled_pairs(db: Session, account_id: int) -> list[tuple[int, int]]:
    """Return (pair, catalogue) of every pair that the learner was ever asked about, the latest catalogue of each."""
    query = select(RoundRow.pair_id, func.max(RoundRow.catalogue_id)).where(RoundRow.account_id == account_id).group_by(RoundRow.pair_id)
    return [(pair_id, catalogue_id) for pair_id, catalogue_id in db.execute(query)]


def fresh_answers(
    db: Session, account_id: int, *, since: date, pair_ids: Iterable[int] | None = None
) -> list[tuple[AnswerRow, ShowingRow, RoundRow, date]]:
    """Return answers to fresh showings with the local day, the earliest first; repeats and prompts' answers are among them."""
    query = (
        select(AnswerRow, ShowingRow, RoundRow, DrillRow.local_day)
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .where(
            DrillRow.account_id == account_id,
            DrillRow.local_day >= since,
            ShowingRow.fresh,
            ShowingRow.third.is_(False),
        )
        .order_by(AnswerRow.at, AnswerRow.id)
    )
    if pair_ids is not None:
        query = query.where(RoundRow.pair_id.in_(list(pair_ids)))
    return [(answer, showing, logged, day) for answer, showing, logged, day in db.execute(query) if day is not None]


def prompted_answers(db: Session, account_id: int, pair_ids: Iterable[int], *, limit: int = 200) -> list[tuple[AnswerRow, ShowingRow, int]]:
    """Return the latest answers to prompted showings of some pairs, with the pair, the latest first."""
    query = (
        select(AnswerRow, ShowingRow, RoundRow.pair_id)
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .where(RoundRow.account_id == account_id, RoundRow.pair_id.in_(list(pair_ids)), ShowingRow.prompted, counts())
        .order_by(AnswerRow.at.desc())
        .limit(limit)
    )
    return [(answer, showing, pair_id) for answer, showing, pair_id in db.execute(query)]


def the_drill(db: Session, account_id: int, drill_id: str) -> DrillRow | None:
    """Return the learner's drill of that id, or None."""
    return db.scalars(select(DrillRow).where(DrillRow.id == drill_id, DrillRow.account_id == account_id)).first()


def rounds_of(db: Session, drill_id: str) -> Sequence[RoundRow]:
    """Return the rounds of a drill in order."""
    return db.scalars(select(RoundRow).where(RoundRow.drill_id == drill_id).order_by(RoundRow.place)).all()


def showings_of(db: Session, drill_id: str) -> Sequence[ShowingRow]:
    """Return the showings of a drill in order."""
    query = select(ShowingRow).join(RoundRow, RoundRow.id == ShowingRow.round_id).where(RoundRow.drill_id == drill_id)
    return db.scalars(query.order_by(RoundRow.place, ShowingRow.place)).all()


def answers_of(db: Session, drill_id: str) -> Sequence[AnswerRow]:
    """Return the answers of a drill, the earliest first."""
    query = (
        select(AnswerRow)
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .where(RoundRow.drill_id == drill_id)
    )
    return db.scalars(query.order_by(AnswerRow.at, AnswerRow.id)).all()


def latest_drill(db: Session, account_id: int) -> str | None:
    """Return the id of the drill that the learner planned last, or None."""
    query = select(DrillRow.id).where(DrillRow.account_id == account_id).order_by(DrillRow.planned_at.desc()).limit(1)
    return db.scalars(query).first()
