"""What a learner's pages and the planning of her drills read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import and_, func, or_, select
from sqlalchemy.orm import Session

from drillhall.core.values import Sure
from drillhall.store.models.catalogue import (
    CataloguePairRow,
    CataloguePictureRow,
    CatalogueRow,
    PairSetRow,
    StagePairRow,
    StageRow,
    TakenSetRow,
    TraitRow,
)
from drillhall.store.models.concepts import FormRow, PairRow
from drillhall.store.models.pictures import MarkRow, PictureRow, RightsRow
from drillhall.store.models.practice import AnswerRow, DrillRow, MemoryRow, RoundRow, ShowingRow, SightRow, TallyRow

RECENT_DRILLS = 60
"""Older drills weigh less than 0.93 ** 60 = 1.3 % in the share of turns, so they are not read."""


class TakenPair(NamedTuple):
    """A pair of a set that the learner has taken: its forms and their concepts, whose catalogue it is, and its place in the set."""

    id: int
    first_form_id: int
    second_form_id: int
    first_concept_id: int
    second_concept_id: int
    catalogue_id: int
    pair_set_id: int
    stage: int
    place: int


def taken_pairs(db: Session, account_id: int) -> list[TakenPair]:
    """Return the pairs of the learner's sets, in the order in which she took the sets, then of stage and place."""
    first, second = FormRow.__table__.alias("first_form"), FormRow.__table__.alias("second_form")
    query = (
        select(
            PairRow.id,
            PairRow.first_form_id,
            PairRow.second_form_id,
            first.c.concept_id.label("first_concept_id"),
            second.c.concept_id.label("second_concept_id"),
            CatalogueRow.id.label("catalogue_id"),
            PairSetRow.id.label("pair_set_id"),
            StageRow.place.label("stage"),
            StagePairRow.place,
        )
        .join(CataloguePairRow, CataloguePairRow.pair_id == PairRow.id)
        .join(StagePairRow, StagePairRow.catalogue_pair_id == CataloguePairRow.id)
        .join(StageRow, StageRow.id == StagePairRow.stage_id)
        .join(PairSetRow, PairSetRow.id == StageRow.pair_set_id)
        .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
        .join(TakenSetRow, TakenSetRow.pair_set_id == PairSetRow.id)
        .join(first, first.c.id == PairRow.first_form_id)
        .join(second, second.c.id == PairRow.second_form_id)
        .where(
            TakenSetRow.account_id == account_id,
            CataloguePairRow.retired_at.is_(None),
            PairSetRow.retired_at.is_(None),
            CatalogueRow.retired_at.is_(None),
        )
        .order_by(TakenSetRow.taken_at, PairSetRow.id, StageRow.place, StagePairRow.place)
    )
    return [TakenPair(*row) for row in db.execute(query)]


def memories(db: Session, account_id: int) -> dict[int, MemoryRow]:
    """Return the learner's memory of every pair she has been rated on, by pair."""
    rows = db.scalars(select(MemoryRow).where(MemoryRow.account_id == account_id))
    return {row.pair_id: row for row in rows}


def tallies(db: Session, account_id: int, *, pair_ids: Iterable[int] | None = None, since_week: int = 0) -> Sequence[TallyRow]:
    """Return the learner's tally, of some pairs or of all, from an ISO week (year * 100 + week) on."""
    query = select(TallyRow).where(TallyRow.account_id == account_id, TallyRow.week >= since_week)
    if pair_ids is not None:
        query = query.where(TallyRow.pair_id.in_(list(pair_ids)))
    return db.scalars(query).all()


def hall_misses(db: Session, *, since_week: int) -> dict[tuple[int, int], tuple[int, int]]:
    """Return (missed, shown) by pair and form shown over all learners, two-choice showings only."""
    missed = func.sum(TallyRow.count).filter(TallyRow.said_form_id != TallyRow.shown_form_id)
    query = (
        select(TallyRow.pair_id, TallyRow.shown_form_id, func.coalesce(missed, 0), func.sum(TallyRow.count))
        .where(TallyRow.choices == 2, TallyRow.week >= since_week)
        .group_by(TallyRow.pair_id, TallyRow.shown_form_id)
    )
    return {(pair_id, form_id): (int(wrong), int(shown)) for pair_id, form_id, wrong, shown in db.execute(query)}


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


def recent_seconds(db: Session, account_id: int, *, limit: int = 90) -> list[float]:
    """Return the seconds of the learner's latest answers."""
    query = select(AnswerRow.seconds).where(AnswerRow.account_id == account_id).order_by(AnswerRow.at.desc()).limit(limit)
    return list(db.scalars(query))


def drillable(
    db: Session, account_id: int, *, catalogue_id: int, form_ids: Iterable[int], use: str, on: date
) -> list[tuple[PictureRow, RightsRow, datetime | None]]:
    """Return the pictures of some forms that the learner may be shown, with their rights and her last sight of each.

    Accepted in the catalogue and shareable with the hall on that day, or her own.
    """
    accepted = and_(CataloguePictureRow.picture_id == PictureRow.id, CataloguePictureRow.catalogue_id == catalogue_id)
    sight = and_(SightRow.picture_id == PictureRow.id, SightRow.account_id == account_id)
    shared = and_(
        CataloguePictureRow.picture_id.is_not(None),
        CataloguePictureRow.retired_at.is_(None),
        RightsRow.may_group,
        or_(RightsRow.may_until.is_(None), RightsRow.may_until >= on),
    )
    query = (
        select(PictureRow, RightsRow, SightRow.last_at)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .outerjoin(CataloguePictureRow, accepted)
        .outerjoin(SightRow, sight)
        .where(
            PictureRow.form_id.in_(list(form_ids)),
            PictureRow.use == use,
            PictureRow.retired_at.is_(None),
            or_(shared, PictureRow.owner_id == account_id),
        )
        .order_by(PictureRow.id)
    )
    return [(picture, rights, seen_at) for picture, rights, seen_at in db.execute(query)]


def marked_traits(db: Session, picture_ids: Iterable[int], *, catalogue_id: int) -> dict[int, frozenset[str]]:
    """Return the keys of a catalogue's traits that are marked on each picture; a picture without any mark is left out."""
    query = (
        select(MarkRow.picture_id, TraitRow.key)
        .join(TraitRow, TraitRow.id == MarkRow.trait_id)
        .where(MarkRow.picture_id.in_(list(picture_ids)), TraitRow.catalogue_id == catalogue_id)
    )
    found: dict[int, set[str]] = {}
    for picture_id, trait in db.execute(query):
        found.setdefault(picture_id, set()).add(trait)
    return {picture_id: frozenset(traits) for picture_id, traits in found.items()}


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
        .where(AnswerRow.account_id == account_id, AnswerRow.sure == Sure.CERTAIN.value, AnswerRow.at >= since)
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
        .where(RoundRow.account_id == account_id, RoundRow.pair_id.in_(list(pair_ids)), ShowingRow.prompted)
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


def withdrawn(db: Session, account_id: int, picture_ids: Iterable[int], *, on: date) -> set[int]:
    """Return those pictures that may no longer be shown to the learner: retired, or no longer shared and not her own."""
    lapsed = or_(RightsRow.may_group.is_(False), RightsRow.may_until < on)
    query = (
        select(PictureRow.id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(
            PictureRow.id.in_(list(picture_ids)),
            or_(
                PictureRow.retired_at.is_not(None),
                and_(lapsed, or_(PictureRow.owner_id.is_(None), PictureRow.owner_id != account_id)),
            ),
        )
    )
    return set(db.scalars(query))
