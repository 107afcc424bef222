"""Marks on pictures: drawn for a trait, or to say which of several is meant; and the same marks in the files of open standards."""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from datetime import date
from io import StringIO
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.cells import no_formula
from drillhall.core.regions import ROI_COLUMNS, NamedRegion, Region, annotation, annotation_page, check_region, roi_rows
from drillhall.core.term_words import SUBJECT
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.pictures.framing import Whole, the_whole
from drillhall.pictures.rendered import drop_rendered, hold
from drillhall.pictures.renditions import MEDIA_TYPE
from drillhall.pictures.serving import may_see
from drillhall.pictures.storage import Storage
from drillhall.store.models.catalogue import TraitRow
from drillhall.store.models.pictures import MarkRow, PictureRow, RightsRow
from drillhall.store.queries import marks as queries
from drillhall.store.queries.pictures import catalogues_near
from drillhall.words import joined, say

MOST_MARKS: Final = 60
OF_THE_SUBJECT: Final = ("far off", "shape only")
"""The renditions that rest on which organism is meant, and how large it is on the picture."""

NEEDS_SUBJECT: Final = say("Several are on it, and nobody has marked which one is meant. It is not drilled until one is marked.")


@dataclass(frozen=True, slots=True)
class MarkOn:
    """One mark on a picture: what it shows, on which part of the organism, and whether whoever asks may take it away.

    `label` is what it shows in the language spoken, `written` as its catalogue says it.
    """

    id: int
    label: str
    written: str
    part: str
    region: Region
    may_remove: bool

    @property
    def large(self) -> str:
        """What it shows, to begin a line with."""
        return joined("", (self.label,)).capitalize()


@dataclass(frozen=True, slots=True)
class Markable:
    """Something that may be marked: a trait of a catalogue, or (trait_id None) which one is meant."""

    trait_id: int | None
    label: str
    catalogue: str


@dataclass(frozen=True, slots=True)
class Marking:
    """A picture with its marks and what may be marked on it; `refused` says why it is not drilled, or is empty."""

    whole: Whole
    frame: Region | None
    marks: tuple[MarkOn, ...]
    markable: tuple[Markable, ...]
    is_own: bool
    refused: str


def why_not_drilled(*, several: bool, has_subject: bool) -> str:
    """Say why a picture is not drilled as far as that hangs on marks; empty where it may be.

    >>> why_not_drilled(several=True, has_subject=True), why_not_drilled(several=False, has_subject=False)
    ('', '')
    """
    return NEEDS_SUBJECT if several and not has_subject else ""


def the_marking(db: Session, account_id: int, public_id: str, *, on: date) -> Marking:
    """Return a picture's marks to somebody who may mark it: its owner, or a steward of a catalogue that holds it; else NotFound."""
    picture = _the_markable(db, account_id, public_id, on=on)
    rows = queries.marks_of(db, picture.id)
    mine = _catalogues(db, account_id, picture)
    is_own = picture.owner_id == account_id
    marks = tuple(
        MarkOn(
            mark.id,
            words if trait else SUBJECT,
            trait.label if trait else SUBJECT,
            trait.part if trait else "whole",
            _region(mark),
            is_own or trait is None or trait.catalogue_id in mine,
        )
        for mark, trait, words in rows
    )
    traits = tuple(Markable(trait.id, label, title) for trait, label, title in queries.traits_for(db, picture, mine))
    return Marking(
        whole=the_whole(db, picture, viewer_id=account_id, on=on),
        frame=queries.frame_of(picture),
        marks=marks,
        markable=(Markable(None, SUBJECT, ""), *traits),
        is_own=is_own,
        refused=why_not_drilled(several=picture.several, has_subject=any(trait is None for _, trait, _ in rows)),
    )


def set_mark(db: Session, storage: Storage, account_id: int, public_id: str, *, trait_id: int | None, region: Region, on: date) -> None:
    """Mark a trait on a picture, or which one is meant, in place of the mark there was for it.

    What was made of it as from afar rests on how large the one that is meant is, so another *subject* takes that away.

    Raises Invalid where the region does not lie on the picture, or the trait is none that this picture may be marked for.
    """
    picture = _the_markable(db, account_id, public_id, on=on)
    hold(db, picture)
    region = check_region(region.x, region.y, region.width, region.height, field="region")
    known = {trait.id for trait, *_ in queries.traits_for(db, picture, _catalogues(db, account_id, picture))}
    if trait_id is not None and trait_id not in known:
        raise Invalid(say("Choose from the list what the mark shows."), field="trait")
    rows = {mark.trait_id: mark for mark, _, _ in queries.marks_of(db, picture.id)}
    if trait_id not in rows and len(rows) >= MOST_MARKS:
        raise Conflict(say("There are {most_marks} marks on this picture already. Take one away first.", most_marks=MOST_MARKS))
    row = rows.get(trait_id) or MarkRow(picture_id=picture.id, trait_id=trait_id)
    row.x, row.y, row.width, row.height = region.x, region.y, region.width, region.height
    db.add(row)
    db.flush()
    if trait_id is None:
        drop_rendered(db, storage, picture.id, OF_THE_SUBJECT)


def remove_mark(db: Session, storage: Storage, account_id: int, public_id: str, mark_id: int, *, on: date) -> None:
    """Take a mark away; raises NotFound where it is not there, or not hers to take away."""
    picture = _the_markable(db, account_id, public_id, on=on)
    hold(db, picture)
    for mark, trait, _ in queries.marks_of(db, picture.id):
        if mark.id == mark_id and (picture.owner_id == account_id or _is_hers(db, account_id, trait)):
            db.delete(mark)
            db.flush()
            if mark.trait_id is None:
                drop_rendered(db, storage, picture.id, OF_THE_SUBJECT)
            return
    raise NotFound(say("There is no such mark, or it is not yours to take away."))


def regions_file(db: Session, account_id: int, public_id: str, *, address: str, on: date) -> str:
    """Return the marks of a picture as a table of Audiovisual Core regions; `address` is how the picture is named in it."""
    out = StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(ROI_COLUMNS)
    table.writerows(map(no_formula, row) for row in roi_rows(address, _named(the_marking(db, account_id, public_id, on=on))))
    return out.getvalue()


def annotations_file(db: Session, account_id: int, public_id: str, *, address: str, on: date) -> str:
    """Return the marks of a picture as a page of W3C Web Annotations in JSON-LD."""
    marking = the_marking(db, account_id, public_id, on=on)
    wide, high = marking.whole.width_px, marking.whole.height_px
    items = [annotation(address, one, width_px=wide, height_px=high, language="en", media_type=MEDIA_TYPE) for one in _named(marking)]
    return json.dumps(annotation_page(f"{address}#marks", items), ensure_ascii=False, indent=1)


def _named(marking: Marking) -> list[NamedRegion]:
    return [NamedRegion(f"mark{place}", mark.written, mark.part, mark.region) for place, mark in enumerate(marking.marks, 1)]


def _the_markable(db: Session, account_id: int, public_id: str, *, on: date) -> PictureRow:
    picture = queries.markable(db, account_id, public_id)
    is_seen = picture is not None and (
        picture.owner_id == account_id or may_see(db, picture, db.get_one(RightsRow, picture.id), viewer_id=account_id, on=on)
    )
    if picture is None or not is_seen:
        raise NotFound(say("There is no such picture, or it is not yours to mark."))
    return picture


def _catalogues(db: Session, account_id: int, picture: PictureRow) -> list[int]:
    """Return the catalogues for whose traits somebody may mark: those near her where the picture is hers, else those she writes."""
    return catalogues_near(db, account_id) if picture.owner_id == account_id else queries.stewarded_by(db, account_id)


def _is_hers(db: Session, account_id: int, trait: TraitRow | None) -> bool:
    return trait is None or trait.catalogue_id in queries.stewarded_by(db, account_id)


def _region(mark: MarkRow) -> Region:
    return Region(mark.x, mark.y, mark.width, mark.height)
