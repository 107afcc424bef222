"""What many may be shown together: the practice pictures of some forms, for a group or for anybody."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import ColumnElement, and_, exists, literal, or_, select
from sqlalchemy.orm import Session

from drillhall.core.stages import StagePictures
from drillhall.core.values import Use
from drillhall.store.models.catalogue import CataloguePairRow, CataloguePictureRow, CatalogueRow, PairSetRow, StagePairRow, StageRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.pictures import MarkRow, PictureRow, PictureShareRow, RightsRow
from drillhall.store.queries.sharing import runs_on, shared_in_a_group_of


@dataclass(frozen=True, slots=True)
class Audience:
    """To whom pictures are shown: the people of a group (None: of no group in particular), who may pay, or anybody at all."""

    group_id: int | None = None
    is_paid: bool = False
    is_public: bool = False


def find_set_in_use(db: Session, pair_set_id: int) -> PairSetRow | None:
    """Return a pair set in use of a catalogue in use, or None."""
    query = (
        select(PairSetRow)
        .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
        .where(PairSetRow.id == pair_set_id, PairSetRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
    )
    return db.scalar(query)


def find_set_by_key(db: Session, catalogue_id: int, set_key: str) -> PairSetRow | None:
    """Return a pair set in use by its key in a catalogue, or None."""
    query = select(PairSetRow).where(PairSetRow.catalogue_id == catalogue_id, PairSetRow.key == set_key, PairSetRow.retired_at.is_(None))
    return db.scalar(query)


def pairs_by_stage(db: Session, pair_set_id: int) -> list[tuple[int, StagePictures]]:
    """Return the ids of a set's pairs in use, stage by stage, each with the pictures that its stage holds; one may stand in several."""
    query = (
        select(CataloguePairRow.pair_id, StageRow.poses, StageRow.distances)
        .join(StagePairRow, StagePairRow.catalogue_pair_id == CataloguePairRow.id)
        .join(StageRow, StageRow.id == StagePairRow.stage_id)
        .where(StageRow.pair_set_id == pair_set_id, CataloguePairRow.retired_at.is_(None))
        .order_by(StageRow.place, StagePairRow.place, CataloguePairRow.id)
    )
    return [(pair_id, StagePictures(frozenset(poses), frozenset(distances))) for pair_id, poses, distances in db.execute(query)]


def pairs_in_order(db: Session, pair_set_id: int) -> list[int]:
    """Return the ids of a set's pairs in use, stage by stage, each once."""
    return list(dict.fromkeys(pair_id for pair_id, _ in pairs_by_stage(db, pair_set_id)))


def _may_be_asked(form_ids: Iterable[int]) -> ColumnElement[bool]:
    """Whether a picture is of one of these forms, for practice, in use and described."""
    return and_(
        PictureRow.form_id.in_(list(form_ids)),
        PictureRow.use == Use.PRACTICE.value,
        PictureRow.retired_at.is_(None),
        PictureRow.described_at.is_not(None),
    )


def showable(
    db: Session, catalogue_id: int, form_ids: Iterable[int], audience: Audience, *, on: date
) -> list[tuple[PictureRow, RightsRow]]:
    """Return the practice pictures of some forms that an audience may be shown on a day, by id."""
    query = (
        select(PictureRow, RightsRow)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(
            _may_be_asked(form_ids),
            or_(PictureRow.several.is_(False), exists().where(MarkRow.picture_id == PictureRow.id, MarkRow.trait_id.is_(None))),
            runs_on(on),
            RightsRow.may_public if audience.is_public else RightsRow.may_group,
            or_(RightsRow.may_paid, literal(not audience.is_paid)),
            or_(_accepted(catalogue_id), *_shared(audience)),
        )
        .order_by(PictureRow.id)
    )
    return [(picture, rights) for picture, rights in db.execute(query)]


def near(db: Session, catalogue_id: int, form_ids: Iterable[int], viewer_id: int) -> list[tuple[PictureRow, RightsRow, bool, bool]]:
    """Return the practice pictures of some forms that a catalogue holds, a group of somebody's is shown, or that are her own, by id.

    Each comes with its rights, whether the catalogue holds it, and whether it is shared with a group that she is in.
    """
    accepted, shared = _accepted(catalogue_id), and_(RightsRow.may_group, shared_in_a_group_of(viewer_id))
    query = (
        select(PictureRow, RightsRow, accepted, shared)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(
            _may_be_asked(form_ids),
            or_(accepted, shared, PictureRow.owner_id == viewer_id),
        )
        .order_by(PictureRow.id)
    )
    return [(picture, rights, bool(held), bool(with_group)) for picture, rights, held, with_group in db.execute(query)]


def _accepted(catalogue_id: int) -> ColumnElement[bool]:
    held = and_(CataloguePictureRow.picture_id == PictureRow.id, CataloguePictureRow.catalogue_id == catalogue_id)
    return exists().where(held, CataloguePictureRow.retired_at.is_(None))


def _shared(audience: Audience) -> Sequence[ColumnElement[bool]]:
    """Return whether the picture is shared with the audience's group; what anybody sees must be in the catalogue."""
    if audience.group_id is None or audience.is_public:
        return []
    shared = select(PictureShareRow.picture_id).join(GroupRow, GroupRow.id == PictureShareRow.group_id)
    here = shared.where(PictureShareRow.picture_id == PictureRow.id, PictureShareRow.ended_at.is_(None), GroupRow.retired_at.is_(None))
    return [exists(here.where(GroupRow.id == audience.group_id).correlate(PictureRow))]
