"""Gives somebody everything that the hall holds about her as one zip: tables as JSON and CSV, and her own pictures with their credits."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import IO, Any, Final

from sqlalchemy.orm import Session

from drillhall.acts.export_pictures import export_pictures
from drillhall.catalogues.writing import ZipSink
from drillhall.catalogues.writing.files import ZIP_DAY
from drillhall.core.cells import no_formula
from drillhall.errors import NotFound
from drillhall.people.kept import READ_ME, SUBJECTS
from drillhall.pictures.own_files import list_own_files
from drillhall.pictures.storage import Storage
from drillhall.store.queries.told import TableRows, list_told

TOP: Final = "everything-about-you"
Progress = Callable[[int, int, str], None]


@dataclass(slots=True)
class _Beneath:
    """A place within the zip for the files of another export, which remembers what was put there."""

    sink: ZipSink
    folder: str
    names: set[str] = field(default_factory=set)

    def put(self, name: str, content: bytes) -> None:
        """Write one file."""
        self.names.add(name)
        self.sink.put(self.folder + name, content)


def export_person(
    db: Session, storage: Storage, file: IO[bytes], account_id: int, *, name: str, on: date, at: datetime, progress: Progress
) -> None:
    """Write everything about a person into an open file as a zip; reads only, and holds one file or some hundred rows at a time.

    Every table in which she is stands as JSON and as CSV under data/; what its numbers mean, under looked-up/. Her pictures are an
    archive of Darwin Core and Audiovisual Core under pictures/, the files as they came where they are kept; files of pictures that
    such an archive leaves out, because she withdrew them or a permission has ended, lie beside it. `progress` is told how far it is.
    """
    tables = list_told(db, account_id)
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        counts = {}
        for done, table in enumerate(tables):
            progress(done, len(tables), table.name)
            counts[f"{table.folder}/{table.name}"] = _write_table(packed, table)
        archive = _Beneath(ZipSink(packed, TOP), "pictures/")
        told = export_pictures(db, storage, archive, owner_id=account_id, on=on, with_originals=True, progress=progress)
        left = _write_others(db, storage, archive, account_id)
        about = {
            "about": name,
            "written_at": at.isoformat(),
            "rows": counts,
            "pictures": told.pictures,
            "files_as_they_came": told.originals,
            "beside_the_archive": left,
            "subjects": [{"title": one.title, "what": one.what, "tables": list(one.tables)} for one in SUBJECTS],
        }
        archive.sink.put("about.json", _json(about).encode())
        archive.sink.put("read-me.txt", READ_ME.encode())


def _write_table(packed: zipfile.ZipFile, table: TableRows) -> int:
    """Write a table twice, row by row, and return how many rows it has."""
    count = 0
    with _entry(packed, f"{table.folder}/{table.name}.json") as entry:
        entry.write(b"[")
        for row in table.rows():
            entry.write((",\n" if count else "\n").encode() + _json(dict(zip(table.columns, row, strict=True)), indent=None).encode())
            count += 1
        entry.write(b"\n]\n")
    with _entry(packed, f"{table.folder}/{table.name}.csv") as entry:
        for line in _lines([table.columns]):
            entry.write(line)
        for line in _lines(table.rows()):
            entry.write(line)
    return count


def _write_others(db: Session, storage: Storage, archive: _Beneath, account_id: int) -> list[str]:
    """Write the files of her pictures that the archive has left out, and return their names."""
    written = []
    for name, key in list_own_files(db, account_id):
        if name in archive.names:
            continue
        try:
            content = storage.get(key)
        except NotFound:
            continue
        archive.sink.put(f"withdrawn/{name}", content)
        written.append(f"withdrawn/{name}")
    return written


def _entry(packed: zipfile.ZipFile, name: str) -> IO[bytes]:
    entry = zipfile.ZipInfo(f"{TOP}/{name}", ZIP_DAY)
    entry.external_attr, entry.compress_type = 0o644 << 16, zipfile.ZIP_DEFLATED
    return packed.open(entry, "w", force_zip64=True)


def _lines(rows: Iterable[Sequence[Any]]) -> Iterator[bytes]:
    for row in rows:
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerow([no_formula(_cell(value)) for value in row])
        yield out.getvalue().encode()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, (list, dict)):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.isoformat() if isinstance(value, date) else str(value)


def _json(value: Any, *, indent: int | None = 1) -> str:
    return json.dumps(value, ensure_ascii=False, indent=indent, default=lambda one: one.isoformat())
