"""Gives the questions of a pair set as items for other systems of tests: pictures of the picture door, words of the catalogue's."""

from __future__ import annotations

import zipfile
from dataclasses import dataclass
from datetime import date
from typing import IO, Final

from sqlalchemy.orm import Session

from drillhall.catalogues.excerpt import excerpt
from drillhall.catalogues.folder import FolderCatalogue, FolderForm, FolderPicture
from drillhall.catalogues.writing import list_stored_pictures, stored_catalogue, the_catalogue_id
from drillhall.core.licences import read_licence
from drillhall.core.rights import Rights, credit_line, short_credit
from drillhall.core.term_words import plain_alt, told_alt
from drillhall.core.values import Use
from drillhall.core.values.worn import worn_words
from drillhall.errors import NotFound
from drillhall.people.accounts import the_person_of
from drillhall.people.permissions import the_stewarded
from drillhall.pictures.catalogued import files_to_hand_out, list_kept_in
from drillhall.pictures.storage import Storage
from drillhall.practice.assigning import list_assignments
from drillhall.practice.exports import qti
from drillhall.practice.shelf import the_set
from drillhall.words import Said, joined, say

_FIXED: Final = (2020, 1, 1, 0, 0, 0)
"""The time written at every file, so that the same items make the same zip."""


@dataclass(frozen=True, slots=True)
class _Source:
    """A picture that may leave: its row, its name in the package, its size in pixels."""

    said: FolderPicture
    file: str
    size_px: tuple[int, int]


def export_items(db: Session, storage: Storage, key: str, set_key: str, into: IO[bytes], *, by: int, on: date) -> int:
    """Write the items of a pair set into a zip, for one of its stewards, and return how many; reads only.

    Asked are its practice pictures: portraits are shown with their names, and held-out ones would be spent. What its rights keep here
    is named in the credits with the reason.
    """
    return _write(db, storage, the_stewarded(db, the_person_of(db, by), the_catalogue_id(db, key)), set_key, into, by=by, on=on)


def export_given_items(db: Session, storage: Storage, group_id: int, assignment_id: int, into: IO[bytes], *, by: int, on: date) -> int:
    """Write the items of a pair set that a group is given now, as `export_items` does, for whoever leads the group.

    Raises NotFound for what the group is not given. That `by` leads the group is asked at the door.
    """
    for one in list_assignments(db, group_id):
        if one.id == assignment_id:
            given = the_set(db, one.pair_set_id)
            return _write(db, storage, given.catalogue_id, given.key, into, by=by, on=on)
    raise NotFound(say("There is no such assignment of this group, or it was taken back."))


def _write(db: Session, storage: Storage, catalogue_id: int, set_key: str, into: IO[bytes], *, by: int, on: date) -> int:
    said = excerpt(stored_catalogue(db, catalogue_id), set_key)
    ids = {held.file: held.picture_id for held in list_stored_pictures(db, catalogue_id)}
    asked = [one for one in said.pictures if one.use == Use.PRACTICE]
    kept = list_kept_in(db, [ids[one.file] for one in asked], to_id=by, on=on)
    leaving = files_to_hand_out(db, [ids[one.file] for one in asked], to_id=by, on=on)
    sources: list[_Source] = []
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as packed:
        for one in asked:
            if (found := leaving.get(ids[one.file])) is not None:
                file = f"p{len(sources) + 1:04}.{found.media_type.rpartition('/')[2]}"
                sources.append(_Source(one, file, found.size_px))
                _put(packed, f"pictures/{file}", storage.get(found.storage_key))
        items = _items(said, sources)
        for item in items:
            _put(packed, qti.item_name(item), qti.item_file(item))
        left_out = [joined(": ", (one.file, kept[ids[one.file]])) for one in asked if ids[one.file] in kept]
        credits_ = [joined(": ", (one.file, credit_line(_rights(one.said), one.said.medium))) for one in sources]
        _put(packed, qti.CREDITS, qti.credits_file(credits_, left_out))
        _put(packed, qti.MANIFEST, qti.manifest_file(f"drillhall-{said.key}", items))
    return len(items)


def _items(said: FolderCatalogue, sources: list[_Source]) -> list[qti.Item]:
    """Return a question for each pair of the set and each picture of one of its two forms, the pairs in their order."""
    forms = {form.key: form for form in said.forms}
    items: list[qti.Item] = []
    for pair in said.pairs:
        for source in (one for one in sources if one.said.form in pair.forms):
            number = len(items) + 1
            first, second = (_named(forms[form_key]) for form_key in pair.forms)
            items.append(
                qti.Item(
                    id=f"q{number:05}",
                    title=f"{said.title} {number}",
                    language=said.language,
                    picture=source.file,
                    width_px=source.size_px[0],
                    height_px=source.size_px[1],
                    alt=told_alt(source.said.alt) or plain_alt(source.said.medium),
                    credit=_short(source.said),
                    names=(first, second),
                    right=pair.forms.index(source.said.form),
                )
            )
    return items


def _named(form: FolderForm) -> Said:
    wears = worn_words(form.life_stage, form.plumage, form.sex, form.variant)
    return joined(", ", filter(None, (form.vernacular_name, wears)))


def _rights(said: FolderPicture) -> Rights:
    shown = (said.creator, read_licence(said.licence), said.credit, said.rights_owner, said.source, said.title)
    return Rights(*shown, statement=said.statement)


def _short(said: FolderPicture) -> Said:
    """Return maker, licence and its address: what may stand beside a picture before it is answered."""
    rights = _rights(said)
    return short_credit(rights, said.medium) + (f" ({rights.licence.url})" if rights.licence and rights.licence.url else "")


def _put(packed: zipfile.ZipFile, name: str, content: bytes) -> None:
    entry = zipfile.ZipInfo(name, _FIXED)
    entry.external_attr = 0o644 << 16
    entry.compress_type = zipfile.ZIP_STORED if name.startswith("pictures/") else zipfile.ZIP_DEFLATED
    packed.writestr(entry, content)
