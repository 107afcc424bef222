"""Finds a picture of the hall with which its own parts can be shown."""

from __future__ import annotations

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.values import Use
from drillhall.practice.packets import PictureView
from drillhall.practice.views import picture_views
from drillhall.store.models.catalogue import CataloguePictureRow
from drillhall.store.models.pictures import PictureRow

LOOKED_AT = 20
"""So many pictures are looked at before it is said that there is none."""


def find_sample(db: Session, viewer_id: int, *, on: date) -> PictureView | None:
    """Return a practice picture of a catalogue that somebody may see and cut, or None where there is none such."""
    query = (
        select(CataloguePictureRow.catalogue_id, PictureRow.id)
        .join(PictureRow, PictureRow.id == CataloguePictureRow.picture_id)
        .where(PictureRow.use == Use.PRACTICE.value, PictureRow.retired_at.is_(None), CataloguePictureRow.retired_at.is_(None))
        .order_by(PictureRow.id)
        .limit(LOOKED_AT)
    )
    rows = list(db.execute(query))
    for catalogue_id in dict.fromkeys(row.catalogue_id for row in rows):
        ids = [row.id for row in rows if row.catalogue_id == catalogue_id]
        for view in picture_views(db, ids, catalogue_id=catalogue_id, viewer_id=viewer_id, on=on).values():
            if view.may_cut and view.frame is None:
                return view
    return None
