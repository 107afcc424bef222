"""Writes which pictures a catalogue holds, what each shows, and its marks; files and rights are the picture door's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import exists, func, select
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import PICTURES_FILE, FolderPicture
from drillhall.catalogues.permission import WORDS
from drillhall.catalogues.places import row_of
from drillhall.catalogues.writing.retiring import rename, retire
from drillhall.catalogues.writing.rows import Written
from drillhall.core.labels import IMPORTED
from drillhall.errors import BadImport
from drillhall.store.models.catalogue import CataloguePictureRow, CatalogueRow, StewardRow, TraitRow
from drillhall.store.models.pictures import LabelChangeRow, MarkRow, PictureOfferRow, PictureRow
from drillhall.words import say

SCENED: Final = say("another catalogue holds this picture as “{use}” in the scene “{scene}”. Say the same, or leave it out.")
SCENELESS: Final = say("another catalogue holds this picture as “{use}” in no scene. Say the same, or leave it out.")
ANSWERED_FOR: Final = say(
    "a catalogue of other stewards holds this picture, and they answer for what it shows. "
    "Leave its form as it was, or tell them what is wrong."
)


@dataclass(frozen=True, slots=True)
class Placed:
    """A row of pictures.csv and the id of the picture that stands for it in the store."""

    said: FolderPicture
    picture_id: int


def write_pictures(db: Session, written: Written, placed: Iterable[Placed], *, by_id: int, at: datetime) -> tuple[int, ...]:
    """Make the catalogue hold exactly the placed pictures, in that order, and say of each what its row says.

    What its owner has taken back stays hers; raises BadImport where another catalogue has settled it otherwise. The other words of a
    picture that a catalogue of other stewards holds stay as they are.
    Returns the pictures whose form was another one before: answers hang on that.
    """
    taken_back = taken_back_from(db, written.catalogue_id)
    by_picture = {one.picture_id: one.said for one in placed if one.picture_id not in taken_back}
    held = select(CataloguePictureRow).where(CataloguePictureRow.catalogue_id == written.catalogue_id)
    rows = {row.picture_id: row for row in db.scalars(held)}
    rename(db, rows, {picture_id: said.file for picture_id, said in by_picture.items()}, column="file")
    for place, (picture_id, said) in enumerate(by_picture.items()):
        row = rows.get(picture_id) or CataloguePictureRow(catalogue_id=written.catalogue_id, picture_id=picture_id, file=said.file)
        row.place, row.extra, row.retired_at = place, dict(said.extra), None
        row.accepted_by = row.accepted_by or by_id
        db.add(row)
    db.flush()
    relabelled = _write_shown(db, written, by_picture, by_id=by_id, at=at)
    _write_marks(db, written, by_picture)
    retire((row for picture_id, row in rows.items() if picture_id not in by_picture), at=at)
    _retire_own(db, written.catalogue_id, [id_ for id_ in rows if id_ not in by_picture], at=at)
    db.flush()
    return relabelled


def taken_back_from(db: Session, catalogue_id: int) -> set[int]:
    """Return the pictures that their owners took back from a catalogue and have not had accepted there since."""
    latest = select(func.max(PictureOfferRow.id)).where(PictureOfferRow.catalogue_id == catalogue_id).group_by(PictureOfferRow.picture_id)
    query = select(PictureOfferRow.picture_id).where(PictureOfferRow.id.in_(latest), PictureOfferRow.decision == "taken back")
    return set(db.scalars(query))


def _write_shown(db: Session, written: Written, by_picture: Mapping[int, FolderPicture], *, by_id: int, at: datetime) -> tuple[int, ...]:
    """Write what each picture shows, a changed form as an event; return the pictures whose form has changed."""
    stewards = set(db.scalars(select(StewardRow.account_id).where(StewardRow.catalogue_id == written.catalogue_id)))
    elsewhere, relabelled = held_elsewhere(db, written.catalogue_id, list(by_picture), by_id=by_id), []
    for row in db.scalars(select(PictureRow).where(PictureRow.id.in_(list(by_picture))).order_by(PictureRow.id).with_for_update()):
        said = by_picture[row.id]
        form_id = written.form_ids[said.form]
        if why := why_refused(row, said, form_id, of_others=elsewhere.get(row.id)):
            raise BadImport(say("Nothing was imported: {where}: {why}", where=where_of(said), why=why))
        if row.form_id != form_id:
            relabelled.append(row.id)
            db.add(LabelChangeRow(picture_id=row.id, from_form_id=row.form_id, to_form_id=form_id, by_id=by_id, at=at, note=str(IMPORTED)))
        row.form_id, row.either_form_id, row.or_form_id = form_id, None, None
        row.use, row.cluster = said.use, said.cluster
        for word in () if elsewhere.get(row.id) else WORDS:
            setattr(row, word, getattr(said, word))
        if row.owner_id is None or row.owner_id in stewards:  # what a learner has withdrawn stays withdrawn
            row.retired_at = None
    db.flush()
    return tuple(relabelled)


def held_elsewhere(db: Session, catalogue_id: int, picture_ids: Sequence[int], *, by_id: int) -> dict[int, bool]:
    """Return the pictures that another catalogue in use holds, and whether one of those has other stewards than whoever writes."""
    is_hers = exists().where(StewardRow.catalogue_id == CatalogueRow.id, StewardRow.account_id == by_id)
    query = (
        select(CataloguePictureRow.picture_id, is_hers)
        .join(CatalogueRow, CatalogueRow.id == CataloguePictureRow.catalogue_id)
        .where(CataloguePictureRow.picture_id.in_(picture_ids), CataloguePictureRow.catalogue_id != catalogue_id)
        .where(CataloguePictureRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
    )
    found: dict[int, bool] = {}
    for picture_id, hers in db.execute(query):
        found[picture_id] = found.get(picture_id, False) or not hers
    return found


def why_refused(row: PictureRow, said: FolderPicture, form_id: int | None, *, of_others: bool | None) -> str:
    """Say why a row cannot be written for a picture, or nothing.

    What another catalogue holds keeps its use and its scene, and its label while others answer for it; `of_others` None: none holds it.
    """
    if of_others is not None and (said.use, said.cluster) != (row.use, row.cluster):
        return (SCENED if row.cluster else SCENELESS).filled(use=row.use, scene=row.cluster)
    if of_others and form_id != row.form_id:
        return ANSWERED_FOR
    return ""


def where_of(said: FolderPicture) -> str:
    """Return how a row of pictures.csv is named."""
    return row_of(PICTURES_FILE, said.row, said.file)


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
