"""Keeps the bytes of pictures behind four methods; a local folder by default."""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final, Protocol, runtime_checkable

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import NotFound, Unavailable
from drillhall.store.models.pictures import FileRow
from drillhall.words import say

KEY_LENGTH: Final = 120
_KEY: Final = re.compile(r"[a-z0-9][a-z0-9_-]*(/[a-z0-9][a-z0-9_-]*)*(\.[a-z0-9]{1,5})?")
_UNFINISHED: Final = ".unfinished-"


class Storage(Protocol):
    """Where the bytes of pictures lie, by key; keys are made by the hall and never by whoever uploads."""

    def put(self, key: str, content: bytes) -> None:
        """Keep the bytes whole under the key, or raise Unavailable and keep nothing; what was there is replaced."""

    def get(self, key: str) -> bytes:
        """Return the bytes under the key, or raise NotFound."""

    def delete(self, key: str) -> None:
        """Let the bytes under the key go; it is no error that there are none."""

    def keys(self, prefix: str = "") -> Iterator[str]:
        """Yield every key that begins with the prefix, in order."""


@dataclass(frozen=True, slots=True)
class Looked:
    """How a bucket is: what keeps the hall from it (empty: nothing), whether anybody may read it, whether it keeps what is deleted."""

    fault: str = ""
    is_open: bool = False
    keeps_deleted: bool = False


@runtime_checkable
class Elsewhere(Storage, Protocol):
    """A storage beyond this machine, which can say how it is."""

    host: str
    bucket: str

    def look(self) -> Looked:
        """Say how it is; nothing is written there."""


def check_key(key: str) -> None:
    """Raise ValueError for a key that no hall makes: it might lead elsewhere."""
    if len(key) > KEY_LENGTH or not _KEY.fullmatch(key):
        raise ValueError(f"not a key of this hall: {key!r}")


def check_prefix(prefix: str) -> None:
    """Raise ValueError for what no key of a hall begins with."""
    start = prefix.rpartition("/")[0]
    if start and not _KEY.fullmatch(start):
        raise ValueError(f"not the beginning of a key of this hall: {prefix!r}")


def not_put(fault: str) -> Unavailable:
    """Return what whoever sends a picture is told where it cannot be kept."""
    return Unavailable(
        say("The hall could not keep the picture ({fault}). Nothing was half-written; tell the keeper, then try again.", fault=fault)
    )


def gone() -> NotFound:
    """Return what whoever asks for a picture is told where its bytes are not."""
    return NotFound(say("The file of this picture is gone."))


class FolderStorage:
    """Keeps each file under its key in a folder: written beside, synced, then renamed, so that none is ever half there."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def put(self, key: str, content: bytes) -> None:
        """Keep the bytes whole under the key, or raise Unavailable and keep nothing."""
        path = self._path(key)
        try:
            is_new = not path.parent.exists()
            path.parent.mkdir(parents=True, exist_ok=True)
            _write_beside(path, content)
            for folder in (path.parent, *path.parent.parents) if is_new else (path.parent,):
                sync_folder(folder)
                if folder == self.folder:
                    break
        except OSError as error:
            raise not_put(error.strerror or say("the disk failed")) from error

    def get(self, key: str) -> bytes:
        """Return the bytes under the key, or raise NotFound."""
        try:
            return self._path(key).read_bytes()
        except (FileNotFoundError, IsADirectoryError, NotADirectoryError):
            raise gone() from None

    def delete(self, key: str) -> None:
        """Let the bytes under the key go, and its folder with the last of them."""
        path = self._path(key)
        path.unlink(missing_ok=True)
        if path.parent != self.folder:
            with suppress(OSError):  # it still holds something, or another process was quicker
                path.parent.rmdir()

    def keys(self, prefix: str = "") -> Iterator[str]:
        """Yield every key that begins with the prefix, in order."""
        check_prefix(prefix)
        for path in sorted((self.folder / prefix.rpartition("/")[0]).rglob("*")):
            key = path.relative_to(self.folder).as_posix()
            if key.startswith(prefix) and not path.name.startswith(_UNFINISHED) and path.is_file():
                yield key

    def drop_unfinished(self, *, before: datetime) -> int:
        """Delete what a broken-off write left before that time, and return how many there were."""
        left = [path for path in self.folder.rglob(f"{_UNFINISHED}*") if path.stat().st_mtime < before.timestamp()]
        for path in left:
            path.unlink(missing_ok=True)
        return len(left)

    def _path(self, key: str) -> Path:
        check_key(key)
        return self.folder / key


def _write_beside(path: Path, content: bytes) -> None:
    handle, beside = tempfile.mkstemp(prefix=_UNFINISHED, dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    finally:
        Path(beside).unlink(missing_ok=True)  # there only where something failed


def sync_folder(folder: Path) -> None:
    """Have the names in a folder on the disk: without it a power cut may forget a new one although the file's bytes are there."""
    if os.name == "posix":  # Windows cannot open folders
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def drop_unfinished(storage: Storage, *, before: datetime) -> int:
    """Delete what broken-off writes left before that time and return how many there were; where a put is one request they leave nothing."""
    return storage.drop_unfinished(before=before) if isinstance(storage, FolderStorage) else 0


@dataclass(frozen=True, slots=True)
class Leftovers:
    """What storage and database do not agree on: keys of files without a row, and of rows without a file."""

    files: tuple[str, ...]
    rows: tuple[str, ...]


def orphans(db: Session, storage: Storage) -> Leftovers:
    """Find files without a row and rows without a file.

    An upload that runs just now has files whose rows are still to come: delete only what two sweeps an hour apart both find.
    """
    kept = set(storage.keys())
    known = set(db.scalars(select(FileRow.storage_key)))
    return Leftovers(files=tuple(sorted(kept - known)), rows=tuple(sorted(known - kept)))
