"""What is read of a learner's log: her drills, rounds, showings and answers."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import (
    ColumnElement,
    CompoundSelect,
    Row,
    ScalarSelect,
    Select,
    String,
    Text,
    and_,
    case,
    cast,
    exists,
    func,
    or_,
    select,
)
from sqlalchemy.orm import Session, aliased

from drillhall.store.models.concepts import FormRow, PairRow
from drillhall.store.models.pictures import LabelChangeRow, PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow
from drillhall.store.models.rarity import RarityShowingRow
from drillhall.store.queries.given import ACCOUNT, NOW, SHOWINGS

OTHER_FORM = case((ShowingRow.form_id == PairRow.first_form_id, PairRow.second_form_id), else_=PairRow.first_form_id)
"""The form of a showing's pair that the showing is not of; of a third, the first."""


STANDING = aliased(FormRow)
"""The form that an answer named, where another stands for it since concepts were joined; outer-join it by NAMED_BEFORE."""

NAMED_BEFORE = and_(STANDING.told_as.is_not(None), cast(STANDING.id, String) == AnswerRow.said)
SAID_NOW = func.coalesce(cast(STANDING.told_as, String), AnswerRow.said)
"""The form that an answer to the question which form it is names, as its id in digits, or the one that stands for it."""


def counts() -> ColumnElement[bool]:
    """Return the condition that an answer is no repeat: of several to one question, the one given first counts."""
    other = aliased(AnswerRow)
    earlier = or_(other.at < AnswerRow.at, and_(other.at == AnswerRow.at, other.id < AnswerRow.id))
    return ~exists().where(other.showing_id == AnswerRow.showing_id, other.ask == AnswerRow.ask, earlier)


def shows_any(picture_ids: Iterable[int]) -> ColumnElement[bool]:
    """Return the condition that a showing shows one of some pictures, be it beside another."""
    wanted = list(picture_ids)
    return or_(ShowingRow.picture_id.in_(wanted), ShowingRow.beside_id.in_(wanted))


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


def open_drill(db: Session, account_id: int, *, now: datetime) -> DrillRow | None:
    """Return the learner's drill that is neither ended nor too old, the latest planned, or None; trials are no drills of a day."""
    return db.scalars(select(DrillRow).where(DrillRow.id == open_drill_id()), {"account_id": account_id, "now": now}).first()


@cache
def open_drill_id() -> ScalarSelect[Any]:
    """Return the statement that finds the id of a learner's open drill; given ACCOUNT and NOW."""
    is_open = and_(DrillRow.account_id == ACCOUNT, DrillRow.ended_at.is_(None), DrillRow.until > NOW, DrillRow.is_trial.is_(False))
    return select(DrillRow.id).where(is_open).order_by(DrillRow.planned_at.desc()).limit(1).scalar_subquery()


def drilled_pairs(db: Session, account_id: int, *, besides: Collection[int]) -> list[tuple[int, int]]:
    """Return (pair, catalogue) of every pair but some that the learner was ever asked about, the latest catalogue of each."""
    others = sorted(set(db.scalars(_drilled_pairs(), {"account_id": account_id})).difference(besides))
    if not others:
        return []
    those = RoundRow.account_id == account_id, RoundRow.pair_id.in_(others)
    query = select(RoundRow.pair_id, func.max(RoundRow.catalogue_id)).where(*those).group_by(RoundRow.pair_id)
    return [(pair_id, catalogue_id) for pair_id, catalogue_id in db.execute(query)]


@cache
def _drilled_pairs() -> Select[int]:
    """Return the statement that finds a learner's pairs by the index, from one to the next: of their rounds none else is read."""
    hers = select(func.min(RoundRow.pair_id).label("pair_id")).where(RoundRow.account_id == ACCOUNT).cte("hers", recursive=True)
    later = select(func.min(RoundRow.pair_id)).where(RoundRow.account_id == ACCOUNT, RoundRow.pair_id > hers.c.pair_id).scalar_subquery()
    every = hers.union_all(select(later).where(hers.c.pair_id.is_not(None)))
    return select(every.c.pair_id).where(every.c.pair_id.is_not(None))


def prompted_answers(
    db: Session, account_id: int, pair_ids: Iterable[int], *, limit: int = 200
) -> list[tuple[AnswerRow, ShowingRow, RoundRow, int | None]]:
    """Return the latest answers to prompted showings of some pairs, with round and form in force of the picture, the latest first."""
    query = (
        select(AnswerRow, ShowingRow, RoundRow, PictureRow.form_id)
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .where(RoundRow.account_id == account_id, RoundRow.pair_id.in_(list(pair_ids)), ShowingRow.prompted, counts())
        .order_by(AnswerRow.at.desc())
        .limit(limit)
    )
    return [(answer, showing, logged, form_id) for answer, showing, logged, form_id in db.execute(query)]


def forms_in_force(db: Session, showing_ids: Iterable[int]) -> dict[int, int | None]:
    """Return the form that the picture of each showing is said to show now."""
    query = (
        select(ShowingRow.id, PictureRow.form_id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .where(ShowingRow.id.in_(list(showing_ids)))
    )
    return {row.id: row.form_id for row in db.execute(query)}


def hold_labels(db: Session, showing_ids: Iterable[int]) -> None:
    """Let no label of the pictures of some showings' rounds change until this work is kept: its answers are judged by those of now.

    Asked in the order of the pictures, before any learner's own row, as a change of labels does. SQLite has one writer at a time.
    """
    if db.get_bind().dialect.name != "sqlite":
        db.execute(_labels(), {"showing_ids": list(showing_ids)})


@cache
def _labels() -> Select[int]:
    rounds = select(ShowingRow.round_id).where(ShowingRow.id.in_(SHOWINGS))
    shown, beside = (select(column).where(ShowingRow.round_id.in_(rounds)) for column in (ShowingRow.picture_id, ShowingRow.beside_id))
    theirs = or_(PictureRow.id.in_(shown), PictureRow.id.in_(beside.where(ShowingRow.beside_id.is_not(None))))
    return select(PictureRow.id).where(theirs).order_by(PictureRow.id).with_for_update(read=True)


def answer_columns(db: Session, those: ColumnElement[bool]) -> Iterable[Row[Any]]:
    """Yield every answer of some rounds: showing, id, ask, said, sure, seconds, hint, at."""
    one = AnswerRow
    query = (
        select(one.showing_id, one.id, one.ask, one.said, one.sure, one.seconds, one.hint, one.at)
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .where(those)
    )
    return db.execute(query)


def judging_columns(db: Session, those: ColumnElement[bool]) -> Iterable[Row[Any]]:
    """Yield every showing of some rounds, with the columns of `judging`."""
    return db.execute(judging().where(those))


@cache
def judging() -> Select[Any]:
    """Return the statement that reads showings, with their round and drill and what they are judged by.

    asks: the text that is stored; form_now: the form in force of the picture; other_id: the pair's form that it is not of; beside_now:
    the form in force of the picture beside it.
    """
    beside, one = aliased(PictureRow), ShowingRow
    return (
        select(
            one.id, one.round_id, one.place, one.form_id, one.fresh, one.prompted, one.third, one.rendition, one.orientation, one.beside_id
        )
        .add_columns(cast(one.asks, Text).label("asks"), one.renamed, PictureRow.form_id.label("form_now"), OTHER_FORM.label("other_id"))
        .add_columns(beside.form_id.label("beside_now"), RoundRow.account_id, RoundRow.pair_id, RoundRow.catalogue_id)
        .add_columns(DrillRow.local_day, DrillRow.pace_ms, DrillRow.is_trial)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .join(PairRow, PairRow.id == RoundRow.pair_id)
        .outerjoin(beside, beside.id == ShowingRow.beside_id)
    )


def count_answered(db: Session, picture_ids: Iterable[int]) -> tuple[int, int]:
    """Return how many showings of some pictures have been answered, and by how many learners."""
    query = (
        select(func.count(func.distinct(ShowingRow.id)), func.count(func.distinct(ShowingRow.account_id)))
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(shows_any(picture_ids))
    )
    answers, learners = db.execute(query).one()
    return int(answers), int(learners)


def judged_anew(db: Session, account_id: int, *, since: datetime) -> tuple[int, int]:
    """Return (pictures, their answered showings) of a learner whose label was corrected since then, after she had answered.

    A correction undone counts where the undoing is since then and the correction was before.
    """
    corrected = and_(LabelChangeRow.undone_at.is_(None), LabelChangeRow.at >= since, AnswerRow.received_at <= LabelChangeRow.at)
    put_back = and_(LabelChangeRow.at < since, LabelChangeRow.undone_at >= since, AnswerRow.received_at <= LabelChangeRow.undone_at)
    touched = select(LabelChangeRow.picture_id).where(or_(LabelChangeRow.at >= since, LabelChangeRow.undone_at >= since))
    query = (
        select(func.count(func.distinct(LabelChangeRow.picture_id)), func.count(func.distinct(ShowingRow.id)))
        .join(LabelChangeRow, LabelChangeRow.picture_id.in_((ShowingRow.picture_id, ShowingRow.beside_id)))
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(ShowingRow.id.in_(_shown_of(account_id, touched)), or_(corrected, put_back))
    )
    pictures, answers = db.execute(query).one()
    return int(pictures), int(answers)


def _shown_of(account_id: int, pictures: Select[int]) -> CompoundSelect[int]:
    """Return the statement that finds the learner's showings of some pictures by an index on either place: they are few beside all."""
    shown = ShowingRow
    # As a sum, the account leads to no index: else SQLite would look through all that she was ever shown.
    first = select(shown.id).where(shown.account_id == account_id, shown.picture_id.in_(pictures))
    return first.union(select(shown.id).where(shown.account_id + 0 == account_id, shown.beside_id.in_(pictures)))


def rarity_sights(db: Session, account_id: int, picture_ids: Iterable[int]) -> list[tuple[int, datetime, datetime, int]]:
    """Return (picture, first, last, times) of what a learner has seen of some pictures in rarity drills, which are no part of the log."""
    query = (
        select(RarityShowingRow.picture_id, func.min(RarityShowingRow.at), func.max(RarityShowingRow.at), func.count())
        .where(RarityShowingRow.account_id == account_id, RarityShowingRow.picture_id.in_(list(picture_ids)))
        .where(RarityShowingRow.at.is_not(None))
        .group_by(RarityShowingRow.picture_id)
    )
    seen = db.execute(query)
    return [(picture_id, first, last, int(times)) for picture_id, first, last, times in seen if first is not None and last is not None]


def rarity_pictures(db: Session) -> dict[int, set[int]]:
    """Return the pictures that each learner has answered on in rarity drills, by learner."""
    query = select(RarityShowingRow.account_id, RarityShowingRow.picture_id).where(RarityShowingRow.at.is_not(None)).distinct()
    found: dict[int, set[int]] = {}
    for account_id, picture_id in db.execute(query):
        found.setdefault(account_id, set()).add(picture_id)
    return found


def the_drill(db: Session, account_id: int, drill_id: str) -> DrillRow | None:
    """Return the learner's drill of that id, or None; a trial is none."""
    hers = select(DrillRow).where(DrillRow.id == drill_id, DrillRow.account_id == account_id, DrillRow.is_trial.is_(False))
    return db.scalars(hers).first()


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
    query = select(DrillRow.id).where(DrillRow.account_id == account_id, DrillRow.is_trial.is_(False))
    return db.scalars(query.order_by(DrillRow.planned_at.desc()).limit(1)).first()
