"""Gives a catalogue back as the folder from which it could be imported again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from drillhall.catalogues.excerpt import excerpt
from drillhall.catalogues.folder import FolderPicture
from drillhall.catalogues.writing import Sink, list_stored_pictures, stored_catalogue, the_catalogue_id, write_folder
from drillhall.people.accounts import the_person_of
from drillhall.people.permissions import the_stewarded
from drillhall.pictures.catalogued import files_to_hand_out, list_kept_in
from drillhall.pictures.storage import Storage


@dataclass(frozen=True, slots=True)
class Exported:
    """What an export wrote: how many pictures, and the names of those whose rights keep them in the hall."""

    pictures: int
    left_out: tuple[str, ...]


def export_catalogue(
    db: Session,
    storage: Storage,
    key: str,
    sink: Sink,
    *,
    by: int,
    on: date,
    set_key: str = "",
    with_originals: bool = False,
    progress: Callable[[int, int, str], None] | None = None,
) -> Exported:
    """Write a catalogue's folder into a sink, for one of its stewards; with `set_key` one pair set of it alone; reads only.

    Pictures leave in their largest size, where their rights allow an export; `with_originals`: her own leave as they came, with
    whatever a camera wrote into them.
    """
    catalogue_id = the_stewarded(db, the_person_of(db, by), the_catalogue_id(db, key))
    whole = stored_catalogue(db, catalogue_id)
    catalogue = excerpt(whole, set_key) if set_key else whole
    ids = {held.file: held.picture_id for held in list_stored_pictures(db, catalogue_id)}
    files = files_to_hand_out(db, [ids[one.file] for one in catalogue.pictures], to_id=by, on=on, with_originals=with_originals)
    done = 0

    def content_of(picture: FolderPicture) -> bytes | None:
        nonlocal done
        if progress:
            progress(done, len(catalogue.pictures), picture.file)
        done += 1
        file = files.get(ids[picture.file])
        return storage.get(file.storage_key) if file else None

    written = write_folder(catalogue, sink, content_of)
    kept = {picture.file for picture in written.pictures}
    left_out = tuple(picture.file for picture in catalogue.pictures if picture.file not in kept)
    return Exported(len(written.pictures), left_out)


@dataclass(frozen=True, slots=True)
class StaysHere:
    """A picture that an export leaves out: its file, of which form it is, whose it is, and why."""

    file: str
    form: str
    creator: str
    why: str


def what_stays(db: Session, key: str, set_key: str, *, by: int, on: date) -> tuple[int, tuple[StaysHere, ...]]:
    """Return how many pictures of a pair set may leave in its file, and which may not; reads rows alone."""
    catalogue_id = the_stewarded(db, the_person_of(db, by), the_catalogue_id(db, key))
    said = excerpt(stored_catalogue(db, catalogue_id), set_key)
    ids = {held.file: held.picture_id for held in list_stored_pictures(db, catalogue_id)}
    kept = list_kept_in(db, [ids[picture.file] for picture in said.pictures], to_id=by, on=on)
    names = {form.key: form.vernacular_name for form in said.forms}
    told = [(one, kept[ids[one.file]]) for one in said.pictures if ids[one.file] in kept]
    return len(said.pictures) - len(told), tuple(StaysHere(one.file, names[one.form], one.creator, why) for one, why in told)
