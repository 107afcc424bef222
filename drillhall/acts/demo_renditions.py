"""Keeps some of the demo's drawings from far off and as shapes, so that whoever is steady on a pair meets them in drills."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.optics import FarView
from drillhall.core.values import Rendition, Use
from drillhall.errors import BadPicture
from drillhall.pictures import altering, listing
from drillhall.pictures.altering import FarWish
from drillhall.pictures.storage import Storage

FORMS: Final = 6
"""Of so many forms; each drawing takes a fifth of a second, and each shape twice that."""

FROM_AFAR: Final = 2
VIEW: Final = FarView(distance_m=80, magnification=10, visibility_km=None)
"""A wader across a creek, through usual binoculars."""


def keep_renditions(db: Session, storage: Storage, steward_id: int, *, at: datetime) -> None:
    """Keep drawings of the first forms from far off, and of each the shape of one where it can be told from what lies around it."""
    day = at.date()
    for form in listing.list_own_pictures(db, steward_id, on=day, size=1).forms[:FORMS]:
        found = listing.list_own_pictures(db, steward_id, on=day, form_id=form.id).pictures
        practice = [one.public_id for one in found if one.use == Use.PRACTICE.value]
        for public_id in practice[:FROM_AFAR]:
            length_mm = altering.the_far_off(db, steward_id, public_id, on=day).length_mm
            if length_mm is not None:
                made = altering.far_off(db, storage, steward_id, public_id, FarWish(VIEW, length_mm), on=day)
                altering.keep(db, storage, steward_id, public_id, made, Rendition.FAR_OFF, on=day)
        _keep_shape(db, storage, steward_id, practice[:FROM_AFAR], on=day)


def _keep_shape(db: Session, storage: Storage, steward_id: int, public_ids: Sequence[str], *, on: date) -> None:
    """Keep the shape of the first of some drawings that parts clearly from what lies around it."""
    for public_id in public_ids:
        try:
            made = altering.shape_only(db, storage, steward_id, public_id, on=on)
        except BadPicture:
            continue
        altering.keep(db, storage, steward_id, public_id, made, Rendition.SHAPE_ONLY, on=on)
        return
