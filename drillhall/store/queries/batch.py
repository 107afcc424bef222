"""What a batch of answers is checked, judged and folded by, in statements that are made once: making one takes longer than sending it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, datetime
from functools import cache
from typing import Any, Final, NamedTuple

from sqlalchemy import Insert, Row, Select, Table, Update, and_, bindparam, func, insert, or_, select, update
from sqlalchemy.orm import Session

from drillhall.store.base import UtcTime
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow, MemoryRow, RoundRow, ShowingRow, SightRow
from drillhall.store.queries.given import ACCOUNT, PAIRS, SHOWINGS
from drillhall.store.queries.log import judging, open_drill_id

_SINCE: Final[Any] = bindparam("since", type_=UtcTime())
_IDS: Final[Any] = bindparam("ids", expanding=True, type_=AnswerRow.__table__.c.id.type)
_ROUNDS: Final[Any] = bindparam("round_ids", expanding=True)
_TIMES: Final[Any] = bindparam("times", expanding=True, type_=UtcTime())
_PICTURES: Final[Any] = bindparam("picture_ids", expanding=True)


class DrillDay(NamedTuple):
    """When and where a drill was begun, and the local day that it counts to."""

    id: str
    zone: str
    first_at: datetime | None
    local_day: date | None


def hold_learner(db: Session, account_id: int) -> AccountRow:
    """Return the learner's account, held until this work is kept: one batch of hers is folded at a time."""
    return db.scalars(_learner(), {"account_id": account_id}).one()


@cache
def _learner() -> Select[AccountRow]:
    return select(AccountRow).where(AccountRow.id == ACCOUNT).with_for_update()


def showings(db: Session, account_id: int, showing_ids: Collection[int]) -> Sequence[Row[Any]]:
    """Return every showing of the learner's rounds in which some showings are, with its drill's times and its picture's owner.

    The columns are those of `log.judging`, and picture_id, first_sight, owner_id, drill_id, zone, planned_at, first_at.
    """
    return db.execute(_showings(), {"account_id": account_id, "showing_ids": list(showing_ids)}).all()


@cache
def _showings() -> Select[Any]:
    named = ShowingRow.__table__.alias("named")
    rounds = select(named.c.round_id).where(named.c.id.in_(SHOWINGS), named.c.account_id == ACCOUNT)
    more = (ShowingRow.picture_id, ShowingRow.first_sight, PictureRow.owner_id)
    drill = (DrillRow.id.label("drill_id"), DrillRow.zone, DrillRow.planned_at, DrillRow.first_at)
    return judging().add_columns(*more, *drill).where(ShowingRow.round_id.in_(rounds))


def answers(db: Session, showing_ids: Collection[int], ids: Collection[str]) -> Sequence[Row[Any]]:
    """Return the answers to some showings and those of some ids: whose they are, showing, and what is judged of an answer."""
    return db.execute(_answers(), {"showing_ids": list(showing_ids), "ids": list(ids)}).all()


@cache
def _answers() -> Select[Any]:
    one = AnswerRow.__table__.c
    told = (one.account_id, one.showing_id, one.id, one.ask, one.said, one.sure, one.seconds, one.hint, one.at)
    return select(*told).where(or_(one.showing_id.in_(SHOWINGS), one.id.in_(_IDS)))


def keep_answers(db: Session, told: list[dict[str, Any]]) -> None:
    """Add answers to the log, each a row of the table."""
    db.connection().execute(_new_answers(), told)


@cache
def _new_answers() -> Insert:
    return insert(_table(AnswerRow))


def last_answers(db: Session, account_id: int, *, since: datetime, but: Collection[int]) -> dict[int, datetime]:
    """Return when the learner last answered in rounds of each pair, since then, some rounds left out; by pair."""
    found = db.execute(_last_answers(), {"account_id": account_id, "since": since, "round_ids": list(but)})
    return {pair_id: at for pair_id, at in found if at is not None}


@cache
def _last_answers() -> Select[int, datetime]:
    return (
        select(RoundRow.pair_id, func.max(AnswerRow.at))
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(AnswerRow.account_id == ACCOUNT, AnswerRow.at >= _SINCE, RoundRow.id.not_in(_ROUNDS))
        .group_by(RoundRow.pair_id)
    )


def drills_since(db: Session, account_id: int, since: datetime) -> tuple[date | None, list[DrillDay]]:
    """Return the local day of the learner's last drill begun before a time, or None, and her drills begun since."""
    told = {"account_id": account_id, "since": since}
    before = db.execute(_day_before(), told).scalar()
    return before, [DrillDay(*row) for row in db.execute(_later_drills(), told)]


@cache
def _day_before() -> Select[Any]:
    one = DrillRow.__table__.c
    earlier = and_(one.account_id == ACCOUNT, one.first_at < _SINCE, one.local_day.is_not(None))
    return select(one.local_day).where(earlier).order_by(one.first_at.desc()).limit(1)


@cache
def _later_drills() -> Select[Any]:
    one = DrillRow.__table__.c
    return select(one.id, one.zone, one.first_at, one.local_day).where(one.account_id == ACCOUNT, one.first_at >= _SINCE)


def keep_days(db: Session, drills: Iterable[DrillDay]) -> None:
    """Store when drills were begun and the days that they count to."""
    if told := [{"given_id": one.id, "first_at": one.first_at, "local_day": one.local_day} for one in drills]:
        db.connection().execute(_days(), told)


@cache
def _days() -> Update:
    table = _table(DrillRow)
    return update(table).where(table.c.id == bindparam("given_id")).values(first_at=bindparam("first_at"), local_day=bindparam("local_day"))


def pairs_of_drills(db: Session, drill_ids: Collection[str]) -> set[int]:
    """Return the pairs of some drills."""
    return set(db.scalars(select(RoundRow.pair_id).where(RoundRow.drill_id.in_(list(drill_ids))))) if drill_ids else set()


def keep_freshness(db: Session, told: Mapping[int, tuple[bool, bool]]) -> None:
    """Store of showings whether each was first sight, and whether it was fresh."""
    if rows := [{"given_id": showing_id, "first_sight": first, "fresh": fresh} for showing_id, (first, fresh) in told.items()]:
        db.connection().execute(_freshness(), rows)


@cache
def _freshness() -> Update:
    table = _table(ShowingRow)
    return update(table).where(table.c.id == bindparam("given_id")).values(first_sight=bindparam("first_sight"), fresh=bindparam("fresh"))


def sights_of(db: Session, account_id: int, picture_ids: Collection[int]) -> dict[int, Row[Any]]:
    """Return the learner's sights of some pictures, by picture."""
    return {row.picture_id: row for row in db.execute(_sights(), {"account_id": account_id, "picture_ids": list(picture_ids)})}


@cache
def _sights() -> Select[Any]:
    table = _table(SightRow)
    return select(table).where(table.c.account_id == ACCOUNT, table.c.picture_id.in_(_PICTURES))


def begun_of_answers_at(db: Session, account_id: int, times: Collection[datetime]) -> Sequence[Row[Any]]:
    """Return for each showing that the learner answered at one of some times its pictures and when it was answered first."""
    return db.execute(_begun(), {"account_id": account_id, "times": list(times)}).all()


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
    """Return the learner's memories of some pairs, by pair, with the columns of the table."""
    return {row.pair_id: row for row in db.execute(_memories(), {"account_id": account_id, "pair_ids": list(pair_ids)})}


@cache
def _memories() -> Select[Any]:
    table = _table(MemoryRow)
    return select(table).where(table.c.account_id == ACCOUNT, table.c.pair_id.in_(PAIRS))


def open_showings(db: Session, account_id: int, *, now: datetime) -> Sequence[Row[int, int | None]]:
    """Return the id of each showing of the learner's open drill, and the picture that stands beside its own, or None."""
    return db.execute(_open_showings(), {"account_id": account_id, "now": now}).all()


@cache
def _open_showings() -> Select[int, int | None]:
    one = select(ShowingRow.id, ShowingRow.beside_id).join(RoundRow, RoundRow.id == ShowingRow.round_id)
    return one.where(RoundRow.drill_id == open_drill_id())


def _table(model: type[Any]) -> Table:
    table = model.__table__
    assert isinstance(table, Table)
    return table
