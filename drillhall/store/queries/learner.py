"""What a learner's pages and the planning of her drills read."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime
from functools import cache, lru_cache
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, CompoundSelect, Row, Select, Text, and_, case, cast, exists, func, not_, or_, select, union
from sqlalchemy.orm import Session

from drillhall.core.regions import clipped
from drillhall.core.values import Use
from drillhall.store.models.catalogue import (
    CataloguePairRow,
    CataloguePictureRow,
    CatalogueRow,
    PairSetRow,
    StagePairRow,
    StageRow,
    TraitRow,
)
from drillhall.store.models.concepts import FormRow, PairRow
from drillhall.store.models.pictures import MarkRow, PictureRow, RightsRow
from drillhall.store.models.practice import MemoryRow, RoundRow, ShowingRow, SightRow, TallyRow
from drillhall.store.queries.given import ACCOUNT, CATALOGUE, FORMS, ON, SHOWINGS, ask
from drillhall.store.queries.log import OTHER_FORM, open_drill_id
from drillhall.store.queries.marks import frame_of
from drillhall.store.queries.sets import sets_of
from drillhall.store.queries.sharing import may_be_drilled_by


class TakenPair(NamedTuple):
    """A pair of a set that the learner drills: its forms and their concepts, whose catalogue it is, its place in the set.

    `poses` and `distances` are those that its stage holds; empty: any.
    """

    id: int
    first_form_id: int
    second_form_id: int
    first_concept_id: int
    second_concept_id: int
    catalogue_id: int
    pair_set_id: int
    stage: int
    place: int
    poses: tuple[str, ...]
    distances: tuple[str, ...]


def taken_pairs(db: Session, account_id: int, *, on: date) -> list[TakenPair]:
    """Return the pairs of the learner's sets, taken or assigned, in the order in which they came to her, then of stage and place."""
    rows = ask(db, _taken_pairs(), account_id=account_id, on=on)
    return [TakenPair._make((*row[:-2], _words(row[-2]), _words(row[-1]))) for row in rows]


@lru_cache(maxsize=1024)
def _words(stored: str) -> tuple[str, ...]:
    """Return the words that a stored text lists: those of a stage stand in the row of every pair in it."""
    return tuple(json.loads(stored))


@cache
def _taken_pairs() -> Select[Any]:
    hers = sets_of(ACCOUNT, on=ON)
    first, second = FormRow.__table__.alias("first_form"), FormRow.__table__.alias("second_form")
    return (
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
            cast(StageRow.poses, Text),
            cast(StageRow.distances, Text),
        )
        .join(CataloguePairRow, CataloguePairRow.pair_id == PairRow.id)
        .join(StagePairRow, StagePairRow.catalogue_pair_id == CataloguePairRow.id)
        .join(StageRow, StageRow.id == StagePairRow.stage_id)
        .join(PairSetRow, PairSetRow.id == StageRow.pair_set_id)
        .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
        .join(hers, hers.c.pair_set_id == PairSetRow.id)
        .join(first, first.c.id == PairRow.first_form_id)
        .join(second, second.c.id == PairRow.second_form_id)
        .where(
            CataloguePairRow.retired_at.is_(None),
            PairSetRow.retired_at.is_(None),
            CatalogueRow.retired_at.is_(None),
        )
        .order_by(hers.c.since, PairSetRow.id, StageRow.place, StagePairRow.place)
    )


def memories(db: Session, account_id: int) -> dict[int, Row[Any]]:
    """Return the learner's memory of every pair that she has been rated on, by pair.

    Columns, not rows, and without what each rated round recalled: that is longer the longer she has drilled.
    """
    return {row[0]: row for row in ask(db, _memories(), account_id=account_id)}


def memory(db: Session, account_id: int, pair_id: int) -> Row[Any] | None:
    """Return the learner's memory of one pair, with the same columns, or None where she was never rated on it."""
    return db.execute(_memories().where(MemoryRow.pair_id == pair_id), {"account_id": account_id}).one_or_none()


@cache
def _memories() -> Select[Any]:
    one = MemoryRow
    state: list[Any] = [one.stability_days, one.difficulty, one.last_day, one.rounds, one.held_running, one.last_outcome]
    return select(one.pair_id, one.due_day, *state).where(one.account_id == ACCOUNT)


def pairs_met(db: Session, account_id: int, pair_ids: Iterable[int]) -> set[int]:
    """Return those of some pairs that the learner has ever answered about, whenever it was."""
    wanted = list(pair_ids)
    if not wanted:
        return set()
    counted = exists().where(TallyRow.account_id == account_id, TallyRow.pair_id == PairRow.id)
    return set(db.scalars(select(PairRow.id).where(PairRow.id.in_(wanted), counted)))


def hall_misses(db: Session, pair_ids: Iterable[int], *, since_week: int) -> dict[tuple[int, int], tuple[int, int]]:
    """Return (missed, shown) of some pairs by pair and form shown, over all learners, two-choice showings only."""
    missed = func.sum(TallyRow.count).filter(TallyRow.said_form_id != TallyRow.shown_form_id)
    query = (
        select(TallyRow.pair_id, TallyRow.shown_form_id, func.coalesce(missed, 0), func.sum(TallyRow.count))
        .where(TallyRow.pair_id.in_(list(pair_ids)), TallyRow.choices == 2, TallyRow.week >= since_week)
        .group_by(TallyRow.pair_id, TallyRow.shown_form_id)
    )
    return {(pair_id, form_id): (int(wrong), int(shown)) for pair_id, form_id, wrong, shown in db.execute(query)}


def drillable(
    db: Session, account_id: int, *, catalogue_id: int, form_ids: Iterable[int], use: str, on: date
) -> list[tuple[PictureRow, RightsRow, datetime | None]]:
    """Return the pictures of some forms that the learner may be shown, with their rights and her last sight of each.

    Accepted in the catalogue or shared with a group of hers and allowed to others on that day, or her own.
    """
    sight = and_(SightRow.picture_id == PictureRow.id, SightRow.account_id == account_id)
    query = (
        select(PictureRow, RightsRow, SightRow.last_at)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .outerjoin(CataloguePictureRow, _accepted(catalogue_id))
        .outerjoin(SightRow, sight)
        .where(PictureRow.form_id.in_(list(form_ids)), PictureRow.use == use, _may_be_shown(account_id, on), _is_clear())
        .order_by(PictureRow.id)
    )
    return [(picture, rights, seen_at) for picture, rights, seen_at in db.execute(query)]


class Look(NamedTuple):
    """That there is a picture of a form in a pose, from a distance; `own`: one that she sent, and no catalogue has accepted."""

    form_id: int
    pose: str
    distance: str
    own: bool = False


def forms_with_pictures(db: Session, account_id: int, *, catalogue_id: int, form_ids: Iterable[int], on: date) -> dict[Look, int]:
    """Return of those forms how many practice pictures the learner may be shown, by pose and distance; none is left out."""
    found = ask(db, _looks(), account_id=account_id, catalogue_id=catalogue_id, form_ids=list(form_ids), on=on)
    return {Look(form_id, pose, distance, own): count for form_id, pose, distance, own, count in found}


@cache
def _looks() -> Select[Any]:
    own = case((and_(PictureRow.owner_id == ACCOUNT, CataloguePictureRow.picture_id.is_(None)), True), else_=False).label("own")
    look = (PictureRow.form_id, PictureRow.pose, PictureRow.distance, own)
    return (
        select(*look, func.count())
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .outerjoin(CataloguePictureRow, _accepted(CATALOGUE))
        .where(PictureRow.form_id.in_(FORMS), PictureRow.use == Use.PRACTICE.value, _may_be_shown(ACCOUNT, ON), _is_clear())
        .group_by(*look)
    )


def _accepted(catalogue_id: int) -> ColumnElement[bool]:
    return and_(CataloguePictureRow.picture_id == PictureRow.id, CataloguePictureRow.catalogue_id == catalogue_id)


def _may_be_shown(account_id: int, on: date) -> ColumnElement[bool]:
    accepted = and_(CataloguePictureRow.picture_id.is_not(None), CataloguePictureRow.retired_at.is_(None))
    return may_be_drilled_by(account_id, accepted=accepted, on=on)


def _is_clear() -> ColumnElement[bool]:
    """Whether it is clear which organism is asked for: there is one, or a mark says which."""
    subject = exists().where(MarkRow.picture_id == PictureRow.id, MarkRow.trait_id.is_(None))
    return or_(PictureRow.several.is_(False), subject)


def marked_traits(db: Session, picture_ids: Iterable[int], *, catalogue_id: int) -> dict[int, frozenset[str]]:
    """Return the keys of a catalogue's traits that are marked on each picture; a picture without any mark is left out.

    A mark that lies outside the picture's frame is not seen, so its trait is not among them.
    """
    of_these = (
        select(MarkRow.picture_id, TraitRow.key)
        .join(TraitRow, TraitRow.id == MarkRow.trait_id)
        .join(PictureRow, PictureRow.id == MarkRow.picture_id)
        .where(MarkRow.picture_id.in_(list(picture_ids)), TraitRow.catalogue_id == catalogue_id)
    )
    found: dict[int, set[str]] = {}
    for picture_id, trait in db.execute(of_these.where(PictureRow.frame_x.is_(None)).distinct()):
        found.setdefault(picture_id, set()).add(trait)
    for picture_id, trait, mark, picture in db.execute(of_these.where(PictureRow.frame_x.is_not(None)).add_columns(MarkRow, PictureRow)):
        frame, shown = frame_of(picture), found.setdefault(picture_id, set())
        if frame is None or clipped(mark, frame) is not None:
            shown.add(trait)
    return {picture_id: frozenset(traits) for picture_id, traits in found.items()}


def withdrawn(db: Session, account_id: int, showing_ids: Iterable[int], *, on: date) -> dict[int, frozenset[int]]:
    """Return those showings of which a picture may no longer be asked of the learner, with the pictures of each that may not.

    It is retired, no longer for practice, relabelled since, of several without a mark, its permission has ended, or it is neither
    hers, nor accepted in the round's catalogue, nor shared with a group of hers.
    """
    told, found = {"account_id": account_id, "on": on, "showing_ids": list(showing_ids)}, defaultdict[int, set[int]](set)
    for beside in (False, True):
        for showing_id, picture_id in db.execute(_withdrawn(beside), told):
            found[showing_id].add(picture_id)
    return {showing_id: frozenset(pictures) for showing_id, pictures in found.items()}


def withdrawn_of_open_drill(db: Session, account_id: int, *, now: datetime, on: date) -> list[str]:
    """Return the names in addresses, sorted, of the pictures that are `withdrawn` of the showings of the learner's open drill."""
    told = {"account_id": account_id, "now": now, "on": on}
    return sorted(name for (name,) in db.connection().execute(_withdrawn_of_open_drill(), told))


@cache
def _withdrawn_of_open_drill() -> CompoundSelect[str]:
    # Two pictures side by side are looked for apart from the first ones, so that either is found by an index.
    one, beside = (_gone(beside).where(RoundRow.drill_id == open_drill_id()) for beside in (False, True))
    return union(*(each.with_only_columns(PictureRow.public_id) for each in (one, beside.where(ShowingRow.beside_id.is_not(None)))))


@cache
def _withdrawn(beside: bool) -> Select[int, int]:
    return _gone(beside).where(ShowingRow.id.in_(SHOWINGS))


def _gone(beside: bool) -> Select[int, int]:
    accepted = and_(
        CataloguePictureRow.picture_id == PictureRow.id,
        CataloguePictureRow.catalogue_id == RoundRow.catalogue_id,
        CataloguePictureRow.retired_at.is_(None),
    )
    place, form_id = (ShowingRow.beside_id, OTHER_FORM) if beside else (ShowingRow.picture_id, ShowingRow.form_id)
    gone = or_(
        not_(may_be_drilled_by(ACCOUNT, accepted=CataloguePictureRow.picture_id.is_not(None), on=ON)),
        not_(_is_clear()),
        PictureRow.use != Use.PRACTICE.value,
        PictureRow.form_id.is_distinct_from(form_id),
    )
    return (
        select(ShowingRow.id, PictureRow.id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(PairRow, PairRow.id == RoundRow.pair_id)
        .join(PictureRow, PictureRow.id == place)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .outerjoin(CataloguePictureRow, accepted)
        .where(gone)
    )
