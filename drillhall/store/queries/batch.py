"""What a batch of answers is checked, judged and folded by, in statements that are made once: making one takes longer than sending it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, datetime
from functools import cache
from typing import Any, Final, NamedTuple

from sqlalchemy import Executable, Row, Select, TextClause, Update, bindparam, func, or_, select, text, union_all, update
from sqlalchemy.orm import Session

from drillhall.store.base import UtcTime
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow, MemoryRow, ParameterSetRow, RoundRow, ShowingRow, SightRow
from drillhall.store.queries.given import ACCOUNT, PAIRS, SHOWINGS
from drillhall.store.queries.log import judging
from drillhall.store.queries.many import as_json, dialect_of, inserting, send, table_of

_SINCE: Final[Any] = bindparam("since", type_=UtcTime())
_IDS: Final[Any] = bindparam("ids", expanding=True, type_=AnswerRow.__table__.c.id.type)
_PICTURES: Final[Any] = bindparam("picture_ids", expanding=True)
_REMEMBERED: Final = ("stability_days", "difficulty", "last_day", "rounds", "held_running", "last_outcome")
_ROUNDS: Final[Any] = bindparam("round_ids", expanding=True)
_TIMES: Final[Any] = bindparam("times", expanding=True, type_=UtcTime())


class Learner(NamedTuple):
    """Whose batch it is: her zone, the recall that she aims at, and the scheduling numbers of her own, None for the usual ones.

    `last_at` is when she gave the last of the answers that are stored before the batch is; None without any.
    """

    id: int
    zone: str
    target_recall: float
    parameters: list[float] | None
    last_at: datetime | None


class DrillDay(NamedTuple):
    """When and where a drill was begun, and the local day that it counts to."""

    id: str
    zone: str
    first_at: datetime
    local_day: date | None


def hold_learner(db: Session, account_id: int) -> Learner:
    """Return the learner, her account held until this work is kept: one batch of hers is folded at a time."""
    (held,) = _rows(db, _learner(), account_id=account_id)
    # What another batch of hers may have changed is asked once she is held.
    (known,) = _rows(db, _known_of_her(), account_id=account_id)
    return Learner(held.id, held.zone, held.target_recall, known.parameters, known.last_at)


@cache
def _learner() -> Select[int, str, float]:
    columns = (AccountRow.id, AccountRow.zone, AccountRow.target_recall)
    return select(*columns).where(AccountRow.id == ACCOUNT).with_for_update()


@cache
def _known_of_her() -> Select[Any]:
    last = select(func.max(AnswerRow.at, type_=UtcTime())).where(AnswerRow.account_id == ACCOUNT)
    return select(_taken_parameters().scalar_subquery().label("parameters"), last.scalar_subquery().label("last_at"))


def taken_parameters(db: Session, account_id: int) -> list[float] | None:
    """Return the scheduling numbers of her own that a learner has taken, or None."""
    return next((row.parameters for row in _rows(db, _taken_parameters(), account_id=account_id)), None)


@cache
def _taken_parameters() -> Select[Any]:
    return (
        select(ParameterSetRow.parameters)
        .where(ParameterSetRow.account_id == ACCOUNT, ParameterSetRow.taken_at.is_not(None), ParameterSetRow.ended_at.is_(None))
        .order_by(ParameterSetRow.taken_at.desc(), ParameterSetRow.id.desc())
        .limit(1)
    )


def showings(db: Session, account_id: int, showing_ids: Collection[int]) -> Sequence[Row[Any]]:
    """Return every showing of the learner's rounds in which some showings are, with its drill's times and its picture's owner.

    The columns are those of `log.judging`, and picture_id, first_sight, owner_id, drill_id, zone, planned_at, first_at.
    """
    return _rows(db, _showings(), account_id=account_id, showing_ids=list(showing_ids))


@cache
def _showings() -> Select[Any]:
    named = ShowingRow.__table__.alias("named")
    # As a sum, the account leads to no index: else SQLite would look through all that she was ever shown for the few that are named.
    rounds = select(named.c.round_id).where(named.c.id.in_(SHOWINGS), named.c.account_id + 0 == ACCOUNT)
    more = (ShowingRow.picture_id, ShowingRow.first_sight, PictureRow.owner_id)
    drill = (DrillRow.id.label("drill_id"), DrillRow.zone, DrillRow.planned_at, DrillRow.first_at)
    return judging().add_columns(*more, *drill).where(ShowingRow.round_id.in_(rounds))


def answers(db: Session, showing_ids: Collection[int], ids: Collection[str]) -> Sequence[Row[Any]]:
    """Return the answers to some showings and those of some ids: whose they are, showing, and what is judged of an answer."""
    return _rows(db, _answers(), showing_ids=list(showing_ids), ids=list(ids))


@cache
def _answers() -> Select[Any]:
    one = AnswerRow.__table__.c
    told = (one.account_id, one.showing_id, one.id, one.ask, one.said, one.sure, one.seconds, one.hint, one.at)
    return select(*told).where(or_(one.showing_id.in_(SHOWINGS), one.id.in_(_IDS)))


def keep_answers(db: Session, told: list[dict[str, Any]]) -> None:
    """Add answers to the log, each a row of the table."""
    send(db, inserting(AnswerRow, dialect_of(db)), told)


def last_answers(db: Session, account_id: int, *, since: datetime, but: Collection[int]) -> dict[int, datetime]:
    """Return when the learner last answered in rounds of each pair, since then, some rounds left out; by pair."""
    found = _rows(db, _last_answers(), account_id=account_id, since=since, round_ids=list(but))
    return {row.pair_id: row.last_at for row in found}


@cache
def _last_answers() -> Select[int, datetime]:
    return (
        select(RoundRow.pair_id, func.max(AnswerRow.at, type_=UtcTime()).label("last_at"))
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(AnswerRow.account_id == ACCOUNT, AnswerRow.at >= _SINCE, RoundRow.id.not_in(_ROUNDS))
        .group_by(RoundRow.pair_id)
    )


def drills_since(db: Session, account_id: int, since: datetime) -> tuple[date | None, list[DrillDay]]:
    """Return the local day of the learner's last drill begun before a time, or None, and her drills begun since."""
    found = [
        DrillDay(row.id, row.zone, row.first_at, row.local_day) for row in _rows(db, _drills_around(), account_id=account_id, since=since)
    ]
    return next((one.local_day for one in found if one.first_at < since), None), [one for one in found if one.first_at >= since]


@cache
def _drills_around() -> Select[Any]:
    """Return the statement that finds the last drill begun before a time that has its day, and all drills begun since."""
    one = DrillRow.__table__.c
    told = select(one.id, one.zone, one.first_at, one.local_day).where(one.account_id == ACCOUNT)
    last = told.where(one.first_at < _SINCE, one.local_day.is_not(None)).order_by(one.first_at.desc()).limit(1).subquery()
    both = union_all(select(*last.c), told.where(one.first_at >= _SINCE)).subquery()
    return select(*both.c)


def keep_days(db: Session, drills: Iterable[DrillDay]) -> None:
    """Store when drills were begun and the days that they count to."""
    if told := [{"given_id": one.id, "first_at": one.first_at, "local_day": one.local_day} for one in drills]:
        db.connection().execute(_days(), told)


@cache
def _days() -> Update:
    table = table_of(DrillRow)
    return update(table).where(table.c.id == bindparam("given_id")).values(first_at=bindparam("first_at"), local_day=bindparam("local_day"))


def pairs_of_drills(db: Session, drill_ids: Collection[str]) -> set[int]:
    """Return the pairs of some drills."""
    return set(db.scalars(select(RoundRow.pair_id).where(RoundRow.drill_id.in_(list(drill_ids))))) if drill_ids else set()


def keep_freshness(db: Session, told: Mapping[int, tuple[bool, bool]]) -> None:
    """Store of showings whether each was first sight, and whether it was fresh."""
    rows = [{"given_id": showing_id, "first_sight": first, "fresh": fresh} for showing_id, (first, fresh) in told.items()]
    if rows and dialect_of(db) == "sqlite":
        db.connection().execute(_freshness(), rows)
    elif rows:
        db.connection().execute(_freshness_at_once(), {"rows": as_json(rows)})


@cache
def _freshness() -> Update:
    table = table_of(ShowingRow)
    return update(table).where(table.c.id == bindparam("given_id")).values(first_sight=bindparam("first_sight"), fresh=bindparam("fresh"))


@cache
def _freshness_at_once() -> TextClause:
    """Return the same for PostgreSQL, of many showings; `many.inserting` says why."""
    return text(
        "UPDATE showing SET first_sight = told.first_sight, fresh = told.fresh "
        "FROM json_to_recordset(CAST(:rows AS json)) AS told(given_id integer, first_sight boolean, fresh boolean) "
        "WHERE showing.id = told.given_id"
    )


def sights_of(db: Session, account_id: int, picture_ids: Collection[int]) -> dict[int, Row[Any]]:
    """Return the learner's sights of some pictures, by picture."""
    return {row.picture_id: row for row in _rows(db, _sights(), account_id=account_id, picture_ids=list(picture_ids))}


@cache
def _sights() -> Select[Any]:
    table = table_of(SightRow)
    return select(table).where(table.c.account_id == ACCOUNT, table.c.picture_id.in_(_PICTURES))


def begun_of_answers_at(db: Session, account_id: int, times: Collection[datetime]) -> Sequence[Row[Any]]:
    """Return for each showing that the learner answered at one of some times its pictures and when it was answered first."""
    return _rows(db, _begun(), account_id=account_id, times=list(times))


@cache
def _begun() -> Select[Any]:
    given, first = AnswerRow.__table__.alias("given"), AnswerRow.__table__.alias("first")
    one = ShowingRow.__table__.c
    return (
        select(one.picture_id, one.beside_id, func.min(first.c.at, type_=UtcTime()).label("begun_at"))
        .join(given, given.c.showing_id == one.id)
        .join(first, first.c.showing_id == one.id)
        .where(given.c.account_id == ACCOUNT, given.c.at.in_(_TIMES))
        .group_by(one.id, one.picture_id, one.beside_id)
    )


def memories(db: Session, account_id: int, pair_ids: Collection[int]) -> dict[int, Row[Any]]:
    """Return the learner's memories of some pairs, by pair; what each of their rounds recalled is not read."""
    return {row.pair_id: row for row in _rows(db, _memories(), account_id=account_id, pair_ids=list(pair_ids))}


@cache
def _memories() -> Select[Any]:
    one = MemoryRow.__table__.c
    return select(one.pair_id, *(one[name] for name in _REMEMBERED)).where(one.account_id == ACCOUNT, one.pair_id.in_(PAIRS))


def _rows(db: Session, statement: Executable, **given: Any) -> Sequence[Row[Any]]:
    """Return what a statement finds, asked without the session, which would take as long again to see that no row of it is mapped."""
    return db.connection().execute(statement, given).all()
