"""Reads a folder of pictures that is no catalogue: the files, and the rows of a pictures.csv beside them where there is one."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from drillhall.catalogues.folder import PICTURES_FILE, PICTURES_FOLDER, Fault, FolderPicture, Source
from drillhall.catalogues.places import row_of
from drillhall.catalogues.reading.rows import pictures_of
from drillhall.catalogues.reading.sources import MAX_TEXT_BYTES, FolderSource, is_safe_name, open_source
from drillhall.catalogues.reading.tables import decode
from drillhall.errors import BadImport
from drillhall.words import say

NO_PICTURES: Final = (".csv", ".toml", ".xml", ".txt", ".md")
"""Endings of what may lie beside pictures; everything else is judged by what it holds."""


@dataclass(frozen=True, slots=True)
class PictureFolder:
    """A folder of pictures as read: `table` is the name of its CSV, or empty where the files come without a word."""

    source: Source
    table: str
    rows: tuple[FolderPicture, ...]
    faults: tuple[Fault, ...]

    @property
    def files(self) -> tuple[str, ...]:
        """The names of what may be pictures, in order."""
        return tuple(sorted(name for name in self.source.sizes if not name.casefold().endswith(NO_PICTURES)))

    def file_of(self, row: FolderPicture) -> str:
        """Return the name of a row's file, which may lie beside the table or in pictures/; empty where there is none."""
        beside, inside = row.file, PICTURES_FOLDER + row.file
        return next((name for name in (inside, beside) if row.file and is_safe_name(row.file) and name in self.source.sizes), "")

    def where(self, row: FolderPicture) -> str:
        """Return how a row is named in a fault."""
        return row_of(self.table, row.row, row.file)

    def close(self) -> None:
        """Let go of whatever is held open."""
        self.source.close()


def read_pictures(path: Path) -> PictureFolder:
    """Read a folder of pictures, a zip of it, or a CSV that names files beside it; close it when done.

    Raises BadImport where there is none of these, or nothing that may be a picture, or where a zip as a whole is not safe.
    """
    source, table = _open(path)
    faults = list(source.faults)
    rows: tuple[FolderPicture, ...] = ()
    if table:
        text = decode(_table_bytes(source, table), table, faults)
        rows = () if text is None else pictures_of(text, faults, needed=("file",), table=table)
    found = PictureFolder(source, table, rows, tuple(faults))
    if not (found.files or found.rows or found.faults):
        source.close()
        raise BadImport(say("There are no pictures in {path}. Name a folder or a zip that holds some.", path=path))
    return found


def _open(path: Path) -> tuple[Source, str]:
    if path.is_file() and path.suffix.casefold() == ".csv":
        return FolderSource(path.parent), path.name
    if not path.exists():
        raise BadImport(
            say("There is nothing at {path}. Give the path of a folder of pictures, of a zip of it, or of a pictures.csv.", path=path)
        )
    source = open_source(path)
    return source, PICTURES_FILE if PICTURES_FILE in source.sizes else ""


def _table_bytes(source: Source, table: str) -> bytes:
    if source.sizes.get(table, 0) > MAX_TEXT_BYTES:
        return b""
    return source.read(table)
