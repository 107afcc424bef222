"""Tells somebody's own pictures in the words of Darwin Core and Audiovisual Core: one table of what was seen, and three that hang on it.

Sources: Darwin Core text guide (TDWG, 2023) for the shape of the archive; Audiovisual Core list of terms (TDWG standard 638).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final
from xml.sax.saxutils import quoteattr

from sqlalchemy.orm import Session

from drillhall.core.regions import ROI_COLUMNS, NamedRegion, check_region, roi_rows
from drillhall.core.rights import Purpose, Rights, credit_line, licence_name, may
from drillhall.core.terms import AC_ORIENTATION_IRI, ORIENTATIONS, PREFIXES
from drillhall.pictures.ingest import ORIGINAL
from drillhall.store.models.catalogue import TraitRow
from drillhall.store.models.pictures import FileRow, MarkRow, PictureRow
from drillhall.store.queries import archive as queries
from drillhall.store.queries import own_pictures as mine
from drillhall.store.queries.archive import FormNames
from drillhall.store.queries.pictures import rights_of

A_BATCH: Final = 500
TERMS: Final[Mapping[str, str]] = {**PREFIXES, "exif": "http://ns.adobe.com/exif/1.0/"}
VARIANTS: Final[Mapping[str, str]] = {ORIGINAL: "Best Quality", "large": "Good Quality", "small": "Lower Quality"}
"""Stored size → the word of ac:variantLiteral for it."""

Marked = tuple[MarkRow, TraitRow | None, str]


@dataclass(frozen=True, slots=True)
class TableOf:
    """One table of the archive: the name of its file, what each row is, and its columns as terms; the first column joins them."""

    file: str
    row_type: str
    columns: tuple[str, ...]


OCCURRENCES: Final = TableOf(
    "occurrence.csv",
    f"{PREFIXES['dwc']}Occurrence",
    (
        *("dwc:occurrenceID", "dwc:basisOfRecord", "dwc:eventDate", "dwc:scientificName", "dwc:taxonRank", "dwc:vernacularName"),
        *("dwc:nameAccordingTo", "dwc:taxonConceptID", "dwc:sex", "dwc:lifeStage", "dwc:occurrenceRemarks"),
        *("dwc:verbatimIdentification", "dwc:taxonFormula"),
    ),
)
MEDIA: Final = TableOf(
    "media.csv",
    f"{PREFIXES['ac']}Multimedia",
    (
        *("dcterms:identifier", "dcterms:type", "dc:type", "ac:subtypeLiteral", "ac:metadataLanguageLiteral", "dcterms:title"),
        *("dcterms:description", "dc:creator", "dcterms:rights", "dc:rights", "xmpRights:Owner", "xmpRights:UsageTerms"),
        *("xmpRights:WebStatement", "photoshop:Credit", "dc:source", "xmp:CreateDate", "ac:subjectOrientation"),
    ),
)
ACCESS_POINTS: Final = TableOf(
    "sap.csv",
    f"{PREFIXES['ac']}ServiceAccessPoint",
    (
        *("dcterms:identifier", "ac:variantLiteral", "dc:format", "exif:PixelXDimension", "exif:PixelYDimension"),
        *("ac:accessURI", "ac:hashFunction", "ac:hashValue"),
    ),
)
REGIONS: Final = TableOf("roi.csv", f"{PREFIXES['ac']}RegionOfInterest", ROI_COLUMNS)
EXTENSIONS: Final = (MEDIA, ACCESS_POINTS, REGIONS)


@dataclass(frozen=True, slots=True)
class ToldFile:
    """A stored file and its name within the archive."""

    name: str
    storage_key: str
    row: FileRow


@dataclass(frozen=True, slots=True)
class OwnToExport:
    """One own picture with all that is said of it, as far as an archive tells it."""

    picture: PictureRow
    rights: Rights
    forms: tuple[FormNames, ...]
    marks: tuple[Marked, ...]
    files: tuple[ToldFile, ...]

    @property
    def has_original(self) -> bool:
        """Whether the file as it came is among its files."""
        return any(file.row.size_name == ORIGINAL for file in self.files)

    @property
    def identifier(self) -> str:
        """The name of the picture in every table."""
        return f"urn:uuid:{self.picture.public_id}"

    @property
    def best(self) -> ToldFile:
        """The file as it came, else the largest size."""
        return next((file for file in self.files if file.row.size_name == ORIGINAL), self.files[0])


def list_to_export(db: Session, account_id: int, *, on: date, with_originals: bool) -> tuple[list[OwnToExport], list[str]]:
    """Return somebody's pictures in use, the oldest first, and why others are left out.

    Files as they came may tell where she was, with what and when: they go along only where that is asked for. A picture whose
    permission has ended is no longer shown to anybody, so it does not leave the hall either.
    """
    told, left_out = [], []
    rows = mine.list_mine(db, account_id, mine.IN_USE, most=1_000_000)[::-1]
    for start in range(0, len(rows), A_BATCH):
        batch = rows[start : start + A_BATCH]
        ids = [picture.id for picture, _ in batch]
        forms = queries.names_of_forms(db, {id_ for picture, _ in batch for id_ in _form_ids(picture)})
        marks, files = queries.marks_by_picture(db, ids), queries.files_by_picture(db, ids)
        for picture, row in batch:
            rights, kept = rights_of(row), _files(picture, files.get(picture.id, []), with_originals=with_originals)
            verdict = may(rights, owner_id=account_id, viewer_id=account_id, purpose=Purpose.OWN, on=on)
            if kept and verdict.allowed:
                named = tuple(forms[id_] for id_ in _form_ids(picture))
                told.append(OwnToExport(picture, rights, named, tuple(marks.get(picture.id, ())), kept))
            else:
                left_out.append(f"{picture.public_id}: {verdict.reason if kept else 'Its files are deleted.'}")
    return told, left_out


def rows_of(one: OwnToExport) -> dict[TableOf, list[Sequence[str]]]:
    """Return the rows of one picture by table, each beginning with what joins it to the first table."""
    core = f"{one.identifier}#occurrence"
    hanging = {MEDIA: [_media(one)], ACCESS_POINTS: _access_points(one), REGIONS: roi_rows(one.identifier, _regions(one))}
    return {OCCURRENCES: [_occurrence(one, core)], **{table: [(core, *row) for row in rows] for table, rows in hanging.items()}}


def header_of(table: TableOf) -> tuple[str, ...]:
    """Return the headers of a table's columns."""
    return table.columns if table is OCCURRENCES else ("coreid", *table.columns)


def meta_xml() -> str:
    """Return meta.xml, which tells a reader which file is what and which column which term."""
    parts = [_described("core", OCCURRENCES, "id"), *(_described("extension", table, "coreid") for table in EXTENSIONS)]
    return '<?xml version="1.0" encoding="UTF-8"?>\n<archive xmlns="http://rs.tdwg.org/dwc/text/">\n' + "".join(parts) + "</archive>\n"


def credits_text(pictures: Iterable[OwnToExport]) -> str:
    """Return the whole credit of each picture, a line each."""
    return "".join(f"{one.best.name}: {credit_line(one.rights, one.picture.medium)}\n" for one in pictures)


def iri_of(term: str) -> str:
    """Return the whole address of a term.

    >>> iri_of("photoshop:Credit")
    'http://ns.adobe.com/photoshop/1.0/Credit'
    """
    prefix, _, name = term.partition(":")
    return TERMS[prefix] + name


def _described(kind: str, table: TableOf, joins: str) -> str:
    first = 0 if table is OCCURRENCES else 1
    fields = "".join(
        f"    <field index={quoteattr(str(place))} term={quoteattr(iri_of(term))}/>\n" for place, term in enumerate(table.columns, first)
    )
    return (
        f'  <{kind} encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\n" fieldsEnclosedBy="&quot;" ignoreHeaderLines="1"'
        f" rowType={quoteattr(table.row_type)}>\n    <files><location>{table.file}</location></files>\n"
        f'    <{joins} index="0"/>\n{fields}  </{kind}>\n'
    )


def _form_ids(picture: PictureRow) -> list[int]:
    return [id_ for id_ in (picture.form_id, picture.either_form_id, picture.or_form_id) if id_ is not None]


def _files(picture: PictureRow, rows: Iterable[FileRow], *, with_originals: bool) -> tuple[ToldFile, ...]:
    return tuple(
        ToldFile(f"pictures/{picture.public_id}-{row.size_name}.{row.storage_key.rpartition('.')[2]}", row.storage_key, row)
        for row in rows
        if with_originals or row.size_name != ORIGINAL
    )


def _occurrence(one: OwnToExport, core: str) -> Sequence[str]:
    picture, only = one.picture, one.forms[0] if len(one.forms) == 1 else None
    seen = {
        word: getattr(picture, word) or (getattr(only.form, word) if only else "") for word in ("sex", "life_stage", "plumage", "variant")
    }
    remarks = "; ".join(f"{word}: {seen[word]}" for word in ("plumage", "variant") if seen[word])
    names = (only.scientific_name, only.taxon_rank, only.vernacular_name, only.according_to, only.taxon_concept_id) if only else ("",) * 5
    both = " or ".join(form.vernacular_name or form.scientific_name for form in one.forms) if len(one.forms) == 2 else ""
    taken = picture.taken_on.isoformat() if picture.taken_on else ""
    basis = "HumanObservation" if picture.medium == "Photograph" else ""
    return (core, basis, taken, *names, seen["sex"], seen["life_stage"], remarks, both, ("", "A", "A or B")[len(one.forms)])


def _media(one: OwnToExport) -> Sequence[str]:
    picture, rights, licence = one.picture, one.rights, one.rights.licence
    holder = rights.rights_owner or rights.creator
    url = licence.url if licence else ""
    orientation = ORIENTATIONS.get(picture.orientation, "")
    return (
        *(one.identifier, "http://purl.org/dc/dcmitype/StillImage", "StillImage", picture.medium, "eng"),
        *(rights.title, picture.alt, rights.creator, url),
        rights.statement or (f"© {holder}, {licence_name(rights)}" if holder else licence_name(rights)),
        *(rights.rights_owner, licence.name if licence else "", url, rights.credit, rights.source),
        picture.taken_on.isoformat() if picture.taken_on else "",
        AC_ORIENTATION_IRI + orientation if orientation else "",
    )


def _access_points(one: OwnToExport) -> list[Sequence[str]]:
    return [
        (one.identifier, VARIANTS.get(row.size_name, ""), row.media_type, str(row.width_px), str(row.height_px), file.name, *_hash(row))
        for file in one.files
        for row in (file.row,)
    ]


def _hash(row: FileRow) -> tuple[str, str]:
    return ("SHA-256", row.sha256) if row.sha256 else ("", "")


def _regions(one: OwnToExport) -> list[NamedRegion]:
    return [
        NamedRegion(
            f"{key}-{trait.key}" if trait else "subject",
            trait.label if trait else "which one is meant",
            trait.part if trait else "whole",
            check_region(mark.x, mark.y, mark.width, mark.height),
        )
        for mark, trait, key in one.marks
    ]
