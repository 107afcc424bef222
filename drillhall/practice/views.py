"""Turns stored pictures into what a page may show one person: sizes, credits, marks and the pictures that stand for a form."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session

from drillhall.core.regions import Rectangle, Region, clipped, in_cut, in_pixels
from drillhall.core.rights import Purpose, Rights, altered_words, columns, licence_name, maker_line, may, short_credit
from drillhall.core.term_words import told_alt
from drillhall.core.values import Mark, Rendition
from drillhall.practice.packets import PictureView, Size
from drillhall.store.models.catalogue import TraitRow
from drillhall.store.models.pictures import MarkRow, PictureRow, RightsRow
from drillhall.store.queries.marks import frame_of, subjects_of
from drillhall.store.queries.pictures import Stored, rights_of, sizes_in_renditions
from drillhall.words import Said, joined, say

AS_TAKEN = Rendition.AS_TAKEN.value
CUT = "cut"


@dataclass(frozen=True, slots=True)
class _Shown:
    """What of a picture is shown: its files, in which rendition, and whether they may be altered copies at all."""

    files: Sequence[Stored]
    rendition: str
    may_alter: bool


def picture_views(db: Session, picture_ids: Iterable[int], *, catalogue_id: int, viewer_id: int | None, on: date) -> dict[int, PictureView]:
    """Return pictures as taken, by id, as somebody may be shown them on a day, with the marks that belong to one catalogue's traits.

    `viewer_id` None: as anybody but their owners may be, who looks at a wall or has no account.

    A framed picture comes as its cut where the viewer may have an altered copy, else whole with the frame as a zoom.
    """
    wanted = {(one, Rendition.AS_TAKEN) for one in picture_ids}
    views = views_in_renditions(db, wanted, catalogue_id=catalogue_id, viewer_id=viewer_id, on=on)
    return {picture_id: view for (picture_id, _), view in views.items()}


def views_in_renditions(
    db: Session,
    wanted: Collection[tuple[int, Rendition]],
    *,
    catalogue_id: int,
    viewer_id: int | None,
    on: date,
    known: Sequence[tuple[PictureRow, RightsRow]] | None = None,
) -> dict[tuple[int, Rendition], PictureView]:
    """Return what `picture_views` does, of pictures by id and the rendition in which each is wanted, be it several of one picture.

    Where a rendition may not be had, or is not there, the picture comes as taken. `known` are their rows, if read.
    """
    ids = sorted({picture_id for picture_id, _ in wanted})
    found = {row.id: (row, rights) for row, rights in (_rows(db, ids) if known is None else known)}
    sizes, marks, subjects = sizes_in_renditions(db, ids), _marks(db, ids, catalogue_id), subjects_of(db, ids)
    judged = {picture_id: (said := rights_of(rights), _may_alter(said, row, viewer_id, on)) for picture_id, (row, rights) in found.items()}
    views = {}
    for picture_id, rendition in sorted(one for one in wanted if one[0] in found):
        row, (said, may_alter) = found[picture_id][0], judged[picture_id]
        shown = _chosen(sizes.get(picture_id, ()), rendition, may_alter)
        if shown.files:
            subject = subjects.get(picture_id)
            seen = _mark("", subject) if row.several and subject else None
            views[picture_id, rendition] = _view(row, said, shown, marks.get(picture_id), seen)
    return views


def _rows(db: Session, picture_ids: Sequence[int]) -> Sequence[tuple[PictureRow, RightsRow]]:
    query = select(PictureRow, RightsRow).join(RightsRow, RightsRow.picture_id == PictureRow.id).where(PictureRow.id.in_(picture_ids))
    return [(row, rights) for row, rights in db.execute(query)]


def _may_alter(rights: Rights, row: PictureRow, viewer_id: int | None, on: date) -> bool:
    if viewer_id is None:
        return columns(rights).may_alter
    return may(rights, owner_id=row.owner_id, viewer_id=viewer_id, purpose=Purpose.ALTERED, on=on).allowed


def _chosen(files: Sequence[Stored], wanted: Rendition, may_alter: bool) -> _Shown:
    """Return the first of what is wanted, the cut and the whole that is there and may be shown."""
    for rendition in (wanted.value, CUT) if may_alter else ():
        if rendition != AS_TAKEN and (fitting := [file for file in files if file.rendition == rendition]):
            # A rendition may be kept in several recipes, the latest of which is meant; a cut is there once, in two sizes.
            return _Shown(fitting if rendition == CUT else [max(fitting, key=lambda file: file.id)], rendition, may_alter)
    return _Shown([file for file in files if file.rendition == AS_TAKEN], AS_TAKEN, may_alter)


def _view(row: PictureRow, rights: Rights, shown: _Shown, marks: Mapping[str, Mark] | None, subject: Mark | None) -> PictureView:
    frame = frame_of(row)
    is_cut = frame is not None and shown.rendition != AS_TAKEN
    _, _, width_px, height_px = in_pixels(frame, row.width_px, row.height_px) if frame and is_cut else (0, 0, row.width_px, row.height_px)
    seen = {trait: part for trait, mark in (marks or {}).items() if (part := _seen(mark, frame, is_cut=is_cut))}
    ringed, alt = _seen(subject, frame, is_cut=is_cut) if subject else None, told_alt(row.alt)
    return PictureView(
        public_id=row.public_id,
        sizes=tuple(Size(recipe=file.recipe, width_px=file.width_px, height_px=file.height_px) for file in shown.files),
        width_px=width_px,
        height_px=height_px,
        alt=_ringed_alt(alt) if ringed else alt,
        medium=row.medium,
        credit=maker_line(rights, row.medium),
        licence=licence_name(rights),
        licence_url=rights.licence.url if rights.licence else "",
        credit_short=short_credit(rights, row.medium),
        marks=seen,
        may_cut=shown.may_alter,
        changed=altered_words([shown.rendition]),
        frame=_mark("", frame) if frame and not is_cut else None,
        subject=ringed,
        shows=frozenset(seen) if marks else None,
    )


def _ringed_alt(alt: str) -> Said:
    return joined(" " if alt.endswith(".") else ". ", (alt, say("The one in the ring is meant.")))


def _seen(mark: Mark, frame: Region | None, *, is_cut: bool) -> Mark | None:
    """Return what of a mark lies within the frame, told on the cut or else on the whole; None where nothing does."""
    if frame is None:
        return mark
    part = in_cut(mark, frame) if is_cut else clipped(mark, frame)
    return _mark(mark.trait, part) if part else None


def _mark(trait: str, region: Rectangle) -> Mark:
    return Mark(trait=trait, x=region.x, y=region.y, width=region.width, height=region.height)


def _marks(db: Session, picture_ids: list[int], catalogue_id: int) -> dict[int, dict[str, Mark]]:
    found: dict[int, dict[str, Mark]] = defaultdict(dict)
    for picture_id, *mark in db.execute(_marked(), {"picture_ids": picture_ids, "catalogue_id": catalogue_id}):
        found[picture_id][mark[0]] = Mark(*mark)
    return found


@cache
def _marked() -> Select[Any]:
    of: tuple[Any, ...] = (MarkRow.picture_id, TraitRow.key, MarkRow.x, MarkRow.y, MarkRow.width, MarkRow.height)
    of_these = MarkRow.picture_id.in_(bindparam("picture_ids", expanding=True))
    of_catalogue = TraitRow.catalogue_id == bindparam("catalogue_id")
    return select(*of).join(TraitRow, TraitRow.id == MarkRow.trait_id).where(of_these, of_catalogue)
