"""Writes which pictures a catalogue holds, what each shows, and its marks; files and rights are the picture door's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import FolderPicture
from drillhall.catalogues.writing.retiring import rename, retire
from drillhall.catalogues.writing.rows import Written
from drillhall.store.models.catalogue import CataloguePictureRow, StewardRow, TraitRow
from drillhall.store.models.pictures import MarkRow, PictureRow


@dataclass(frozen=True, slots=True)
class Placed:
    """A row of pictures.csv and the id of the picture that stands for it in the store."""

    said: FolderPicture
    picture_id: int


def write_pictures(db: Session, written: Written, placed: Iterable[Placed], *, by_id: int, at: datetime) -> None:
    """Make the catalogue hold exactly the placed pictures, in that order, and say of each what its row says."""
    by_picture = {one.picture_id: one.said for one in placed}
    held = select(CataloguePictureRow).where(CataloguePictureRow.catalogue_id == written.catalogue_id)
    rows = {row.picture_id: row for row in db.scalars(held)}
    rename(db, rows, {picture_id: said.file for picture_id, said in by_picture.items()}, column="file")
    for place, (picture_id, said) in enumerate(by_picture.items()):
        row = rows.get(picture_id) or CataloguePictureRow(catalogue_id=written.catalogue_id, picture_id=picture_id, file=said.file)
        row.place, row.extra, row.retired_at = place, dict(said.extra), None
        row.accepted_by = row.accepted_by or by_id
        db.add(row)
    db.flush()
    _write_shown(db, written, by_picture)
    _write_marks(db, written, by_picture)
    retire((row for picture_id, row in rows.items() if picture_id not in by_picture), at=at)
    _retire_own(db, written.catalogue_id, [id_ for id_ in rows if id_ not in by_picture], at=at)
    db.flush()


def _write_shown(db: Session, written: Written, by_picture: Mapping[int, FolderPicture]) -> None:
    stewards = set(db.scalars(select(StewardRow.account_id).where(StewardRow.catalogue_id == written.catalogue_id)))
    for row in db.scalars(select(PictureRow).where(PictureRow.id.in_(list(by_picture)))):
        said = by_picture[row.id]
        row.form_id, row.use, row.medium = written.form_ids[said.form], said.use, said.medium
        row.orientation, row.pose, row.setting, row.typical = said.orientation, said.pose, said.setting, said.typical
        row.alt, row.taken_on, row.cluster = said.alt, said.taken_on, said.cluster
        if row.owner_id is None or row.owner_id in stewards:  # what a learner has withdrawn stays withdrawn
            row.retired_at = None


def _write_marks(db: Session, written: Written, by_picture: Mapping[int, FolderPicture]) -> None:
    """Make the marks of this catalogue's traits what is said; no answer names one, so those unsaid are deleted."""
    ours = select(MarkRow).join(TraitRow, TraitRow.id == MarkRow.trait_id)
    ours = ours.where(TraitRow.catalogue_id == written.catalogue_id, MarkRow.picture_id.in_(list(by_picture)))
    rows = {(row.picture_id, row.trait_id): row for row in db.scalars(ours)}
    for picture_id, said in by_picture.items():
        for mark in said.marks:
            trait_id = written.trait_ids[mark.trait]
            row = rows.pop((picture_id, trait_id), None) or MarkRow(picture_id=picture_id, trait_id=trait_id)
            row.x, row.y, row.width, row.height = mark.x, mark.y, mark.width, mark.height
            db.add(row)
    for row in rows.values():
        db.delete(row)


def _retire_own(db: Session, catalogue_id: int, gone: list[int], *, at: datetime) -> None:
    """Retire what a steward has taken out of her folder, so that she is not drilled on it as on a picture of her own either.

    A learner's picture that a catalogue lets go stays hers, and so does one that another catalogue holds.
    """
    elsewhere = select(CataloguePictureRow.picture_id).where(CataloguePictureRow.retired_at.is_(None))
    stewards = select(StewardRow.account_id).where(StewardRow.catalogue_id == catalogue_id)
    query = select(PictureRow).where(PictureRow.id.in_(gone), PictureRow.id.not_in(elsewhere), PictureRow.owner_id.in_(stewards))
    retire(db.scalars(query), at=at)
