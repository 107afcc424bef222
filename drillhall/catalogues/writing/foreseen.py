"""Foresees what writing a folder would refuse because of what other catalogues hold, and which words it would leave; reads only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import Fault, FolderCatalogue, FolderPicture
from drillhall.catalogues.writing.joining import learnt_apart
from drillhall.catalogues.writing.naming import find_forms
from drillhall.catalogues.writing.pictures import held_elsewhere, taken_back_from, where_of, why_refused
from drillhall.store.models.pictures import PictureRow


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What would be refused, and the files of the pictures whose words other stewards have settled."""

    faults: tuple[Fault, ...]
    settled: frozenset[str]


def foresee(db: Session, said: FolderCatalogue, catalogue_id: int, held: Mapping[int, FolderPicture], *, by_id: int) -> Foreseen:
    """Return what writing a catalogue would refuse; `held` are its rows by the pictures that the catalogue has for them already."""
    taken_back = taken_back_from(db, catalogue_id)
    rows = {picture_id: one for picture_id, one in held.items() if picture_id not in taken_back}
    elsewhere, forms = held_elsewhere(db, catalogue_id, list(rows), by_id=by_id), find_forms(db, said)
    faults = []
    for picture in db.scalars(select(PictureRow).where(PictureRow.id.in_(list(elsewhere)))):
        one = rows[picture.id]
        if why := why_refused(picture, one, forms.get(one.form), of_others=elsewhere[picture.id]):
            faults.append((one.row, Fault(where_of(one), why, "")))
    settled = frozenset(rows[picture_id].file for picture_id, of_others in elsewhere.items() if of_others)
    told = tuple(fault for _, fault in sorted(faults, key=lambda one: one[0]))
    return Foreseen((*learnt_apart(db, said, by_id=by_id), *told), settled)
