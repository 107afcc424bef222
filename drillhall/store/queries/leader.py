"""What whoever leads a group reads: its assignments and learners, what they have answered since they joined, what may be shown."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import ColumnElement, and_, exists, or_, select
from sqlalchemy.orm import Session

from drillhall.core.stages import StagePictures
from drillhall.core.values import Use
from drillhall.store.models.catalogue import CataloguePairRow, CataloguePictureRow, CatalogueRow, PairSetRow, StagePairRow, StageRow
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import MarkRow, PictureRow, PictureShareRow, RightsRow
from drillhall.store.models.practice import DrillRow, MemoryRow, ParameterSetRow, RoundRow, TallyRow
from drillhall.store.models.seasons import AssignmentRow
from drillhall.store.queries.learner import Look
from drillhall.store.queries.sets import LEARNS
from drillhall.store.queries.sharing import runs_on


class SetPair(NamedTuple):
    """A pair of a set: its forms, whose catalogue it is, and which pictures the stages hold in which it stands."""

    id: int
    first_form_id: int
    second_form_id: int
    catalogue_id: int
    stages: tuple[StagePictures, ...] = ()


class LearnerIn(NamedTuple):
    """Somebody who learns in a group now: her name, since when, and whether she lets whoever leads a club see hers by name."""

    account_id: int
    name: str
    since: datetime
    lets_leader_see: bool


def assignments(db: Session, group_id: int) -> Sequence[tuple[AssignmentRow, PairSetRow, CatalogueRow]]:
    """Return a group's assignments with set and catalogue: those running first, then by the day they are for."""
    query = (
        select(AssignmentRow, PairSetRow, CatalogueRow)
        .join(PairSetRow, PairSetRow.id == AssignmentRow.pair_set_id)
        .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
        .where(AssignmentRow.group_id == group_id)
        .order_by(AssignmentRow.retired_at.is_not(None), AssignmentRow.for_day.is_(None), AssignmentRow.for_day, AssignmentRow.id)
    )
    return [(row, pair_set, catalogue) for row, pair_set, catalogue in db.execute(query)]


def pairs_of_sets(db: Session, pair_set_ids: Collection[int]) -> dict[int, list[SetPair]]:
    """Return the pairs in use of some sets, by set, in order of stage and place, each once."""
    if not pair_set_ids:
        return {}
    query = (
        select(StageRow, PairRow.id, PairRow.first_form_id, PairRow.second_form_id, CataloguePairRow.catalogue_id)
        .join(PairSetRow, StageRow.pair_set_id == PairSetRow.id)
        .join(StagePairRow, StagePairRow.stage_id == StageRow.id)
        .join(CataloguePairRow, CataloguePairRow.id == StagePairRow.catalogue_pair_id)
        .join(CatalogueRow, CatalogueRow.id == CataloguePairRow.catalogue_id)
        .join(PairRow, PairRow.id == CataloguePairRow.pair_id)
        .where(PairSetRow.id.in_(pair_set_ids), PairSetRow.retired_at.is_(None))
        .where(CataloguePairRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
        .order_by(PairSetRow.id, StageRow.place, StagePairRow.place)
    )
    found: dict[int, dict[int, SetPair]] = {}
    for stage, pair_id, first, second, catalogue_id in db.execute(query):
        pairs = found.setdefault(stage.pair_set_id, {})
        before = pairs.setdefault(pair_id, SetPair(pair_id, first, second, catalogue_id))
        pairs[pair_id] = before._replace(stages=(*before.stages, StagePictures(frozenset(stage.poses), frozenset(stage.distances))))
    return {set_id: list(pairs.values()) for set_id, pairs in found.items()}


def learners(db: Session, group_id: int) -> list[LearnerIn]:
    """Return who learns in a group now, by name."""
    query = (
        select(MembershipRow.account_id, AccountRow.name, MembershipRow.since, MembershipRow.lets_leader_see)
        .join(AccountRow, AccountRow.id == MembershipRow.account_id)
        .where(MembershipRow.group_id == group_id, MembershipRow.until.is_(None), MembershipRow.role == LEARNS)
        .where(AccountRow.retired_at.is_(None))
        .order_by(AccountRow.name_folded, MembershipRow.id)
    )
    return [LearnerIn(*row) for row in db.execute(query)]


def pairs_known_before(db: Session, group_id: int, pair_ids: Collection[int]) -> set[tuple[int, int]]:
    """Return (learner, pair) of those in a group who had begun a drill with the pair before they joined."""
    query = (
        select(RoundRow.account_id, RoundRow.pair_id)
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .join(MembershipRow, MembershipRow.account_id == RoundRow.account_id)
        .where(MembershipRow.group_id == group_id, MembershipRow.until.is_(None), MembershipRow.role == LEARNS)
        .where(RoundRow.pair_id.in_(pair_ids), DrillRow.first_at < MembershipRow.since)
        .distinct()
    )
    return {(account_id, pair_id) for account_id, pair_id in db.execute(query)}


def memories(db: Session, account_ids: Collection[int], pair_ids: Collection[int]) -> Sequence[MemoryRow]:
    """Return what some learners remember of some pairs."""
    return db.scalars(select(MemoryRow).where(MemoryRow.account_id.in_(account_ids), MemoryRow.pair_id.in_(pair_ids))).all()


def own_parameters(db: Session, account_ids: Collection[int]) -> dict[int, list[float]]:
    """Return the scheduling numbers of their own that some learners have taken, by account; who goes by the usual ones is left out."""
    running = ParameterSetRow.taken_at.is_not(None), ParameterSetRow.ended_at.is_(None)
    query = select(ParameterSetRow.account_id, ParameterSetRow.parameters).where(ParameterSetRow.account_id.in_(account_ids), *running)
    return dict(db.execute(query.order_by(ParameterSetRow.taken_at, ParameterSetRow.id)).all())


def tallies(db: Session, account_ids: Collection[int], pair_ids: Collection[int]) -> Sequence[TallyRow]:
    """Return the counts of some learners of some pairs."""
    return db.scalars(select(TallyRow).where(TallyRow.account_id.in_(account_ids), TallyRow.pair_id.in_(pair_ids))).all()


def forms_shown(db: Session, group_id: int, *, catalogue_id: int, form_ids: Iterable[int], on: date) -> set[Look]:
    """Return of those forms in which poses, and from which distances, everybody in a group may be shown a practice picture."""
    subject = exists().where(MarkRow.picture_id == PictureRow.id, MarkRow.trait_id.is_(None))
    query = (
        select(PictureRow.form_id, PictureRow.pose, PictureRow.distance)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(PictureRow.form_id.in_(list(form_ids)), PictureRow.use == Use.PRACTICE.value)
        .where(_reaches(group_id, catalogue_id, on), or_(PictureRow.several.is_(False), subject))
        .distinct()
    )
    return {Look(form_id, pose, distance) for form_id, pose, distance in db.execute(query) if form_id is not None}


def portraits(db: Session, group_id: int, *, catalogue_id: int, form_ids: Iterable[int], on: date) -> list[PictureRow]:
    """Return the portraits of some forms that everybody in a group may be shown, and handed on paper."""
    query = (
        select(PictureRow)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(PictureRow.form_id.in_(list(form_ids)), PictureRow.use == Use.PORTRAIT.value, _reaches(group_id, catalogue_id, on))
        .order_by(PictureRow.id)
    )
    return list(db.scalars(query))


def _reaches(group_id: int, catalogue_id: int, on: date) -> ColumnElement[bool]:
    """Whether a picture reaches a whole group: the catalogue holds it or it is shared with the group, and its rights allow it."""
    held = exists().where(
        CataloguePictureRow.picture_id == PictureRow.id,
        CataloguePictureRow.catalogue_id == catalogue_id,
        CataloguePictureRow.retired_at.is_(None),
    )
    shared = (
        select(PictureShareRow.picture_id)
        .join(GroupRow, GroupRow.id == PictureShareRow.group_id)
        .where(PictureShareRow.picture_id == PictureRow.id, PictureShareRow.group_id == group_id, PictureShareRow.ended_at.is_(None))
        .where(GroupRow.retired_at.is_(None), or_(GroupRow.is_paid.is_(False), RightsRow.may_paid))
        .correlate(PictureRow, RightsRow)
        .exists()
    )
    return and_(PictureRow.retired_at.is_(None), runs_on(on), RightsRow.may_group, or_(held, shared))


def list_names(db: Session, catalogue_ids: Collection[int]) -> tuple[str, ...]:
    """Return after which lists some catalogues name their forms."""
    return tuple(
        db.scalars(select(CatalogueRow.list_name).where(CatalogueRow.id.in_(catalogue_ids)).distinct().order_by(CatalogueRow.list_name))
    )
