"""The one file that a backup is: a zip whose rows either engine takes back.

hall.json            {"format": "drillhall backup", "version": 1, "program", "schema", "taken_at", "rows": {table: count},
                     "missing": [keys of pictures that the database names and whose bytes were not there]}
rows/<table>.jsonl   as dumping.py writes them
pictures/<key>       the bytes of a picture's file
SHA256SUMS           a sum and a name a line for all of the above, as `sha256sum --check` reads them
"""

from __future__ import annotations

import errno
import hashlib
import json
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import IO, Any, Final

from drillhall.errors import Invalid

FORMAT: Final = "drillhall backup"
VERSION: Final = 1
HEAD: Final = "hall.json"
SUMS: Final = "SHA256SUMS"
PICTURES: Final = "pictures/"
CHUNK: Final = 1 << 20

_SUM: Final = re.compile(r"([0-9a-f]{64})  (\S+)")
DAMAGED: Final = "This backup is damaged or was cut short ({what}). Nothing was restored; take another backup."


@dataclass(frozen=True, slots=True)
class Head:
    """What a backup says of itself: who wrote it, the revision of its rows, when (RFC 3339), counts by table, and lost keys."""

    program: str
    schema: str
    taken_at: str
    rows: Mapping[str, int]
    missing: tuple[str, ...]

    @property
    def taken(self) -> datetime:
        """When it was taken, as an instant; raises ValueError where what it says is none."""
        taken = datetime.fromisoformat(self.taken_at)
        if taken.tzinfo is None:
            raise ValueError(self.taken_at)
        return taken


class ArchiveWriter:
    """Writes a backup entry by entry, and its sums at the end."""

    def __init__(self, file: IO[bytes]) -> None:
        self._zip = zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED)
        self._sums: dict[str, str] = {}

    def __enter__(self) -> ArchiveWriter:
        return self

    def __exit__(self, _kind: type[BaseException] | None, _error: BaseException | None, _way: TracebackType | None) -> None:
        with suppress(OSError, ValueError):  # finished already, or the disk is full, which has been told by then
            self._zip.close()

    @contextmanager
    def rows(self, table: str) -> Iterator[IO[bytes]]:
        """Yield where a table's lines go."""
        name = f"rows/{table}.jsonl"
        with self._zip.open(name, "w", force_zip64=True) as entry:
            summed = _Summed(entry)
            yield summed  # type: ignore[misc]  # it has the one method that is needed
        self._sums[name] = summed.sum.hexdigest()

    def picture(self, key: str, content: bytes) -> None:
        """Write the bytes of one file; pictures are compressed already."""
        self._put(PICTURES + key, content, zipfile.ZIP_STORED)

    def finish(self, head: Head) -> None:
        """Write what the backup says of itself, and the sums."""
        told = {"format": FORMAT, "version": VERSION} | asdict(head)
        self._put(HEAD, json.dumps(told, indent=1, ensure_ascii=False).encode(), zipfile.ZIP_DEFLATED)
        lines = "".join(f"{value}  {name}\n" for name, value in self._sums.items())
        self._zip.writestr(SUMS, lines)
        self._zip.close()

    def _put(self, name: str, content: bytes, how: int) -> None:
        self._zip.writestr(zipfile.ZipInfo(name), content, how)
        self._sums[name] = hashlib.sha256(content).hexdigest()


class _Summed:
    def __init__(self, out: IO[bytes]) -> None:
        self._out = out
        self.sum = hashlib.sha256()

    def write(self, content: bytes) -> int:
        self.sum.update(content)
        return self._out.write(content)


class Archive:
    """A backup opened for reading; raises Invalid, saying what is wrong, where it is none or cannot be trusted."""

    def __init__(self, path: Path) -> None:
        try:
            self._zip = zipfile.ZipFile(path)
        except FileNotFoundError:
            raise Invalid(f"There is no file {path}. Name a backup that is there.", field="file") from None
        except (zipfile.BadZipFile, OSError, ValueError):
            raise Invalid(DAMAGED.format(what="it cannot be opened as a zip"), field="file") from None
        self.head = _head(self._read(HEAD))
        self._sums = self._listed()

    def __enter__(self) -> Archive:
        return self

    def __exit__(self, _kind: type[BaseException] | None, _error: BaseException | None, _way: TracebackType | None) -> None:
        self._zip.close()

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys of the pictures in it."""
        return tuple(name.removeprefix(PICTURES) for name in self._sums if name.startswith(PICTURES))

    def check(self, *, progress: Callable[[int, int, str], None]) -> None:
        """Read all of it, and raise Invalid where a single bit is not what was written."""
        for number, (name, wanted) in enumerate(self._sums.items(), 1):
            found = hashlib.sha256()
            with self._reading(name) as entry:
                while chunk := entry.read(CHUNK):
                    found.update(chunk)
            if found.hexdigest() != wanted:
                raise Invalid(DAMAGED.format(what=f"{name} is not what was written"), field="file")
            progress(number, len(self._sums), name)

    @contextmanager
    def lines(self, table: str) -> Iterator[IO[bytes]]:
        """Yield a table's lines."""
        with self._reading(f"rows/{table}.jsonl") as entry:
            yield entry

    def picture(self, key: str) -> bytes:
        """Return the bytes of one file."""
        return self._read(PICTURES + key)

    def _listed(self) -> dict[str, str]:
        lines = [_SUM.fullmatch(line) for line in self._read(SUMS).decode("utf-8", "replace").splitlines()]
        sums = {line[2]: line[1] for line in lines if line}
        wanted = {HEAD, *(f"rows/{table}.jsonl" for table in self.head.rows)}
        names = self._zip.namelist()
        is_whole = len(sums) == len(lines) and sorted(names) == sorted({*sums, SUMS})
        if not is_whole or {name for name in sums if not name.startswith(PICTURES)} != wanted:
            raise Invalid(DAMAGED.format(what="what it lists is not what it holds"), field="file")
        return sums

    def _read(self, name: str) -> bytes:
        with self._reading(name) as entry:
            return entry.read()

    @contextmanager
    def _reading(self, name: str) -> Iterator[IO[bytes]]:
        try:
            with self._zip.open(name) as entry:
                yield entry
        except KeyError:
            raise Invalid(DAMAGED.format(what=f"{name} is missing"), field="file") from None
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError):
            raise Invalid(DAMAGED.format(what=f"{name} cannot be read"), field="file") from None
        except OSError as error:
            if error.errno != errno.EINVAL:
                raise
            raise Invalid(DAMAGED.format(what=f"{name} is said to lie before the file begins"), field="file") from None


def _head(content: bytes) -> Head:
    try:
        told: Any = json.loads(content)
        if told["format"] != FORMAT:
            raise ValueError
        if not isinstance(told["version"], int) or told["version"] > VERSION:
            raise Invalid("This backup was written by a newer Drillhall. Restore it with that one, or a newer one still.", field="file")
        rows = {str(table): int(count) for table, count in told["rows"].items()}
        head = Head(str(told["program"]), str(told["schema"]), str(told["taken_at"]), rows, tuple(map(str, told["missing"])))
        return replace(head, taken_at=head.taken.astimezone(UTC).isoformat())
    except (ValueError, KeyError, TypeError, AttributeError):
        raise Invalid("This file is no backup of a hall.", field="file") from None
