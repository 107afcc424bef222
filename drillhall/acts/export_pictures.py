"""Gives somebody her own pictures as an archive of open standards, from which they can also be added again."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from sqlalchemy.orm import Session

from drillhall.acts.picture_rows import APART, ONE_OF_TWO
from drillhall.catalogues.folder import PICTURES_FILE, PICTURES_FOLDER, FolderPicture
from drillhall.catalogues.writing import Sink
from drillhall.catalogues.writing.files import guard, pictures_text
from drillhall.core.rights import ASKED
from drillhall.core.values import Mark
from drillhall.errors import NotFound
from drillhall.pictures.archive import (
    EXTENSIONS,
    OCCURRENCES,
    OwnToExport,
    TableOf,
    ToldFile,
    credits_text,
    header_of,
    list_to_export,
    meta_xml,
    rows_of,
)
from drillhall.pictures.naming import NamedForm, list_named_forms
from drillhall.pictures.storage import Storage
from drillhall.pictures.told import SUBJECT
from drillhall.store.queries.marks import frame_of

META: Final = "meta.xml"
CREDITS: Final = "credits.txt"


@dataclass(frozen=True, slots=True)
class ExportedPictures:
    """What an export wrote: how many pictures, of how many of them the file as it came, and why others were left out."""

    pictures: int
    originals: int
    left_out: tuple[str, ...]


def export_pictures(
    db: Session,
    storage: Storage,
    sink: Sink,
    *,
    owner_id: int,
    on: date,
    with_originals: bool = False,
    progress: Callable[[int, int, str], None],
) -> ExportedPictures:
    """Write somebody's own pictures into a sink, one at a time, and the tables that tell of them; reads only.

    `with_originals`: the files as they came go along, with whatever a camera wrote into them.
    """
    wanted, left_out = list_to_export(db, owner_id, on=on, with_originals=with_originals)
    pictures: list[OwnToExport] = []
    for done, one in enumerate(wanted):
        progress(done, len(wanted), one.best.name)
        there = _put_files(storage, sink, one)
        left_out += [f"{file.name}: its bytes are gone; `drillhall pictures verify` tells more." for file in one.files if file not in there]
        if there:  # the tables name what was written and nothing else
            pictures.append(replace(one, files=there))
    progress(len(wanted), len(wanted), "")
    tables: dict[TableOf, list[Sequence[str]]] = defaultdict(list)
    for one in pictures:
        for table, rows in rows_of(one).items():
            tables[table] += rows
    for table in (OCCURRENCES, *EXTENSIONS):
        sink.put(table.file, _csv(header_of(table), tables[table]).encode())
    sink.put(META, meta_xml().encode())
    sink.put(CREDITS, credits_text(pictures).encode())
    if pictures:
        sink.put(PICTURES_FILE, pictures_text(_rows(pictures, list_named_forms(db, owner_id))).encode())
    return ExportedPictures(len(pictures), sum(one.has_original for one in pictures), tuple(left_out))


def _put_files(storage: Storage, sink: Sink, one: OwnToExport) -> tuple[ToldFile, ...]:
    """Write the files of a picture and return those that were there: a lost one must not keep all the others from her."""
    there = []
    for file in one.files:
        try:
            content = storage.get(file.storage_key)
        except NotFound:
            continue
        sink.put(file.name, content)
        there.append(file)
    return tuple(there)


def _csv(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([guard(" ".join(cell.split())) for cell in row] for row in rows)
    return out.getvalue()


def _rows(pictures: Iterable[OwnToExport], known: Sequence[NamedForm]) -> list[FolderPicture]:
    by_form: dict[int, list[NamedForm]] = defaultdict(list)
    for form in known:
        by_form[form.form_id].append(form)
    return [_row(one, by_form) for one in pictures]


def _row(one: OwnToExport, by_form: Mapping[int, Sequence[NamedForm]]) -> FolderPicture:
    """Return the row of pictures.csv from which a picture can be added again."""
    picture, rights = one.picture, one.rights
    marked = {key for _, trait, key in one.marks if trait}
    keyed = [max(by_form.get(form.form.id, ()), key=lambda known: known.catalogue in marked, default=None) for form in one.forms]
    keys = [form.told for form in keyed if form]
    catalogue = next((form.catalogue for form in keyed if form), "")
    return FolderPicture(
        file=one.best.name.removeprefix(PICTURES_FOLDER),
        form=f" {APART} ".join(keys) if len(keys) == len(one.forms) else "",
        use=picture.use,
        creator=rights.creator,
        licence=(rights.licence.url or rights.licence.id) if rights.licence else "",
        credit=rights.credit,
        rights_owner=rights.rights_owner,
        source=rights.source,
        title=rights.title,
        statement=rights.statement,
        medium=picture.medium,
        taken_on=picture.taken_on,
        orientation=picture.orientation,
        pose=picture.pose,
        setting=picture.setting,
        typical=picture.typical,
        alt=picture.alt,
        cluster=picture.cluster,
        marks=_marks(one, catalogue),
        frame=frame_of(picture),
        agreed=tuple(purpose.value for purpose in ASKED if purpose in rights.agreed),
        granted_by=rights.granted_by,
        granted_on=rights.granted_on,
        until=rights.until,
        evidence=rights.evidence,
        data_mining=rights.data_mining,
        extra=_extra(one, is_keyed=len(keys) == len(one.forms)),
    )


def _marks(one: OwnToExport, catalogue: str) -> tuple[Mark, ...]:
    told = [(trait.key if trait else SUBJECT, mark) for mark, trait, key in one.marks if trait is None or key == catalogue]
    return tuple(Mark(key, mark.x, mark.y, mark.width, mark.height) for key, mark in told)


def _extra(one: OwnToExport, *, is_keyed: bool) -> dict[str, str]:
    """Return the columns beyond those of a catalogue's table; the names of a form that no catalogue keys stand for its key."""
    picture = one.picture
    said = {
        "dwc:sex": picture.sex,
        "dwc:lifeStage": picture.life_stage,
        "plumage": picture.plumage,
        "variant": picture.variant,
        "several": "yes" if picture.several else "",
        "dwc:taxonFormula": ONE_OF_TWO if len(one.forms) == 2 else "",
    }
    if is_keyed:
        return said
    words = {"dwc:sex": "sex", "dwc:lifeStage": "life_stage", "plumage": "plumage", "variant": "variant"}
    return {
        **said,
        **{column: said[column] or f" {APART} ".join(getattr(form.form, word) for form in one.forms) for column, word in words.items()},
        "dwc:scientificName": f" {APART} ".join(form.scientific_name for form in one.forms),
    }
