"""Turns stored pictures into what a page may show: sizes, credits, marks and the pictures that stand for a form."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.licences import read_licence
from drillhall.core.rights import Rights, licence_name, maker_line, short_credit
from drillhall.core.values import Mark
from drillhall.practice.packets import PictureView, Size
from drillhall.store.models.catalogue import TraitRow
from drillhall.store.models.pictures import FileRow, MarkRow, PictureRow, RightsRow


def picture_views(db: Session, picture_ids: Iterable[int], *, catalogue_id: int) -> dict[int, PictureView]:
    """Return pictures by id as they may be shown, with the marks that belong to one catalogue's traits."""
    wanted = sorted(set(picture_ids))
    found = db.execute(
        select(PictureRow, RightsRow).join(RightsRow, RightsRow.picture_id == PictureRow.id).where(PictureRow.id.in_(wanted))
    ).all()
    sizes: dict[int, list[FileRow]] = defaultdict(list)
    for file in db.scalars(select(FileRow).where(FileRow.picture_id.in_(wanted), FileRow.size_name != "original")):
        sizes[file.picture_id].append(file)
    marks = _marks(db, wanted, catalogue_id)
    return {row.id: _view(row, rights, sizes[row.id], marks.get(row.id, {})) for row, rights in found if sizes[row.id]}


def _view(row: PictureRow, rights: RightsRow, files: list[FileRow], marks: Mapping[str, Mark]) -> PictureView:
    said = Rights(
        creator=rights.creator,
        licence=read_licence(rights.licence_url or rights.licence),
        credit=rights.credit,
        rights_owner=rights.rights_owner,
        source=rights.source,
        title=rights.title,
    )
    files.sort(key=lambda file: file.width_px)
    return PictureView(
        public_id=row.public_id,
        sizes=tuple(Size(recipe=file.recipe, width_px=file.width_px, height_px=file.height_px) for file in files),
        width_px=row.width_px,
        height_px=row.height_px,
        alt=row.alt,
        medium=row.medium,
        credit=maker_line(said, row.medium),
        licence=licence_name(said),
        licence_url=said.licence.url if said.licence else "",
        credit_short=short_credit(said, row.medium),
        marks=marks,
        may_cut=rights.may_alter,
    )


def _marks(db: Session, picture_ids: list[int], catalogue_id: int) -> dict[int, dict[str, Mark]]:
    query = (
        select(MarkRow, TraitRow.key)
        .join(TraitRow, TraitRow.id == MarkRow.trait_id)
        .where(MarkRow.picture_id.in_(picture_ids), TraitRow.catalogue_id == catalogue_id)
    )
    found: dict[int, dict[str, Mark]] = defaultdict(dict)
    for row, trait in db.execute(query):
        found[row.picture_id][trait] = Mark(trait=trait, x=row.x, y=row.y, width=row.width, height=row.height)
    return found
