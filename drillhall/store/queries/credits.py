"""What the credits of a pair set read: the pictures of its forms that somebody may be shown, and in which renditions."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sqlalchemy import ColumnElement, CompoundSelect, and_, exists, select, union
from sqlalchemy.orm import Session

from drillhall.core.values import Rendition, Use
from drillhall.store.models.catalogue import (
    CatalogueFormRow,
    CataloguePairRow,
    CataloguePictureRow,
    CatalogueRow,
    PairSetRow,
    StagePairRow,
    StageRow,
    ThirdRow,
)
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.models.practice import RoundRow
from drillhall.store.queries.sets import is_hers
from drillhall.store.queries.sharing import may_be_drilled_by


def find_set(db: Session, pair_set_id: int) -> PairSetRow | None:
    """Return a pair set that anybody may take from the shelf, or None."""
    query = (
        select(PairSetRow)
        .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
        .where(PairSetRow.id == pair_set_id, PairSetRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
    )
    return db.scalar(query)


def sets_of_drill(db: Session, account_id: int, drill_id: str) -> list[tuple[int, str]]:
    """Return id and title of the pair sets in use that somebody drills and of which one of her drills asks a pair."""
    query = (
        select(PairSetRow.id, PairSetRow.title)
        .join(StageRow, StageRow.pair_set_id == PairSetRow.id)
        .join(StagePairRow, StagePairRow.stage_id == StageRow.id)
        .join(CataloguePairRow, CataloguePairRow.id == StagePairRow.catalogue_pair_id)
        .join(RoundRow, RoundRow.pair_id == CataloguePairRow.pair_id)
        .where(
            is_hers(account_id),
            RoundRow.account_id == account_id,
            RoundRow.drill_id == drill_id,
            PairSetRow.retired_at.is_(None),
        )
        .distinct()
        .order_by(PairSetRow.title, PairSetRow.id)
    )
    return [(set_id, title) for set_id, title in db.execute(query)]


def pictures_of_set(db: Session, account_id: int, pair_set: PairSetRow, *, on: date) -> list[tuple[PictureRow, RightsRow]]:
    """Return the pictures that have files, for practice and portraits, of a set's forms and thirds that somebody may be shown, by id."""
    holding = and_(CataloguePictureRow.picture_id == PictureRow.id, CataloguePictureRow.catalogue_id == pair_set.catalogue_id)
    accepted = and_(CataloguePictureRow.picture_id.is_not(None), CataloguePictureRow.retired_at.is_(None))
    query = (
        select(PictureRow, RightsRow)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .outerjoin(CataloguePictureRow, holding)
        .where(
            PictureRow.form_id.in_(_forms(pair_set.id)),
            PictureRow.use != Use.HELD_OUT.value,
            may_be_drilled_by(account_id, accepted=accepted, on=on),
            exists().where(FileRow.picture_id == PictureRow.id, _is_served_whole()),
        )
        .order_by(PictureRow.id)
    )
    return [(picture, rights) for picture, rights in db.execute(query)]


def largest_of(db: Session, picture_ids: Sequence[int]) -> dict[int, str]:
    """Return the recipe of the largest served file of each whole picture."""
    query = select(FileRow.picture_id, FileRow.recipe).where(FileRow.picture_id.in_(picture_ids), _is_served_whole())
    found = {}
    for picture_id, recipe in db.execute(query.order_by(FileRow.width_px, FileRow.id)):
        found[picture_id] = recipe  # the largest comes last
    return found


def renditions_of(db: Session, picture_ids: Sequence[int]) -> dict[int, set[str]]:
    """Return in which renditions pictures are kept."""
    query = select(FileRow.picture_id, FileRow.rendition).where(FileRow.picture_id.in_(picture_ids)).distinct()
    found: dict[int, set[str]] = {}
    for picture_id, rendition in db.execute(query):
        found.setdefault(picture_id, set()).add(rendition)
    return found


def _is_served_whole() -> ColumnElement[bool]:
    return and_(FileRow.rendition == Rendition.AS_TAKEN.value, FileRow.size_name != "original")


def _forms(pair_set_id: int) -> CompoundSelect[int]:
    of_set = (
        select(CataloguePairRow.id)
        .join(StagePairRow, StagePairRow.catalogue_pair_id == CataloguePairRow.id)
        .join(StageRow, StageRow.id == StagePairRow.stage_id)
        .where(StageRow.pair_set_id == pair_set_id, CataloguePairRow.retired_at.is_(None))
    )
    pairs = select(PairRow).join(CataloguePairRow, CataloguePairRow.pair_id == PairRow.id).where(CataloguePairRow.id.in_(of_set))
    thirds = (
        select(CatalogueFormRow.form_id)
        .join(ThirdRow, ThirdRow.catalogue_form_id == CatalogueFormRow.id)
        .where(ThirdRow.catalogue_pair_id.in_(of_set))
    )
    return union(pairs.with_only_columns(PairRow.first_form_id), pairs.with_only_columns(PairRow.second_form_id), thirds)
