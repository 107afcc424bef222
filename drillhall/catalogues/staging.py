"""Holds an uploaded zip between its preview and its import: bounded, known to its uploader alone, gone after a day."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path
from typing import IO, Final

from drillhall.errors import BadImport, NotFound, TooMany
from drillhall.words import say

KEPT: Final = timedelta(days=1)
MOST_OF_ONE: Final = 3
"""Uploads of one account that may lie here at a time; a fourth one lets the oldest go."""
MOST_BYTES: Final = 2 * 2**30
"""Of all uploads together."""
MOST_BYTES_OF_ONE: Final = 256 * 2**20
_TOKEN: Final = re.compile(r"[0-9a-f]{32}")
_PIECE: Final = 2**20


def stage(folder: Path, stream: IO[bytes], *, account_id: int, token: str, at: datetime) -> Path:
    """Keep an upload under a random token and return its path; lets go what is too old, and the account's oldest beyond its few.

    Raises BadImport when the upload is too large, TooMany when the hall holds too many uploads by others.
    """
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    sweep(folder, at=at)
    own = sorted(_waiting(folder, f"{account_id}-*.zip"), key=lambda one: one[1].st_mtime)
    for old, _ in own[: max(0, len(own) - MOST_OF_ONE + 1)]:
        old.unlink(missing_ok=True)
    if sum(told.st_size for _, told in _waiting(folder)) > MOST_BYTES:
        raise TooMany(say("Too many uploads wait to be imported. Try again tomorrow, or import at the terminal."), wait_seconds=86_400)
    path = _path(folder, account_id, token)
    try:
        with path.open("xb") as file:
            _copy(stream, file)
        os.utime(path, (at.timestamp(), at.timestamp()))  # its age goes by the hall's clock
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return path


def the_staged(folder: Path, *, account_id: int, token: str, at: datetime) -> Path:
    """Return the path of an account's own upload, or raise NotFound when it is over, imported, or somebody else's."""
    gone = NotFound(say("This upload is over: it was imported, dropped, or older than a day. Upload the zip again."))
    if not _TOKEN.fullmatch(token):
        raise gone
    path = _path(folder, account_id, token)
    if not any(told.st_mtime >= (at - KEPT).timestamp() for _, told in _waiting(folder, path.name)):
        raise gone
    return path


def sweep(folder: Path, *, at: datetime) -> None:
    """Let go of the uploads that are older than a day."""
    for path, told in _waiting(folder):
        if told.st_mtime < (at - KEPT).timestamp():
            path.unlink(missing_ok=True)


def drop_of(folder: Path, account_id: int) -> None:
    """Let go of all uploads of an account."""
    for path in folder.glob(f"{account_id}-*.zip"):
        path.unlink(missing_ok=True)


def _waiting(folder: Path, names: str = "*.zip") -> Iterator[tuple[Path, os.stat_result]]:
    for path in folder.glob(names):
        with suppress(FileNotFoundError):  # another process, or the hall's own work, let it go meanwhile
            yield path, path.stat()


def _path(folder: Path, account_id: int, token: str) -> Path:
    return folder / f"{account_id}-{token}.zip"


def _copy(stream: IO[bytes], file: IO[bytes]) -> None:
    copied = 0
    while piece := stream.read(_PIECE):
        copied += len(piece)
        if copied > MOST_BYTES_OF_ONE:
            raise BadImport(
                say(
                    "The zip is larger than {most} MiB. Import it at the terminal: `drillhall import`.",
                    most=MOST_BYTES_OF_ONE // 2**20,
                )
            )
        file.write(piece)
