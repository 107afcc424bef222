"""Watches the files of a hall from outside, and sets them back: the kernel tells that something happened, a walk tells what."""

from __future__ import annotations

import ctypes
import os
import shutil
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Final

DATABASE: Final = "hall.sqlite"
"""How the names of a database's files begin, which are watched as rows."""
EVENT: Final = struct.Struct("iIII")
"""inotify(7): which watch, what happened, a cookie, and how long the name is that follows, zeros at its end."""
HAPPENED: Final = 0x2 | 0x4 | 0x40 | 0x80 | 0x100 | 0x200 | 0x400 | 0x800
"""Modified, its attributes changed, moved away, moved here, created, deleted, and the folder itself deleted or moved (linux/inotify.h)."""
IS_FOLDER: Final = 0x4000_0000

Seen = frozenset[tuple[str, tuple[int, int]]]
"""Each file with its size in bytes and its time of change in nanoseconds."""


class Files:
    """The files of a folder, but for a database: `seen` are those last looked at."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.seen = folder, Seen()
        self._libc = ctypes.CDLL(None, use_errno=True)
        self._told = self._libc.inotify_init1(os.O_NONBLOCK | os.O_CLOEXEC)
        if self._told < 0:
            raise OSError(ctypes.get_errno(), "files cannot be watched")
        self.look()

    def close(self) -> None:
        """Watch no more."""
        os.close(self._told)

    def look(self, *, closely: bool = True) -> list[str]:
        """Return the names of files that are other than when this was last asked; unless `closely`, only if the kernel told of any."""
        if not (self._has_happened() or closely):
            return []
        before, self.seen = self.seen, frozenset(self._walk(self.folder, ""))
        return sorted({name for name, _ in before ^ self.seen})

    def set_back(self, ground: Path, first: Seen) -> None:
        """Make the files those of a folder again, as which they were seen at first."""
        here = {name for name, _ in first}
        for name in {name for name, _ in first ^ self.seen}:
            if name in here:
                (self.folder / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(ground / name, self.folder / name)
            else:
                (self.folder / name).unlink()
                self._drop_folders(ground, Path(name).parent)
        if self.look() and self.seen != first:
            raise AssertionError(f"files were not set back: {sorted(self.seen ^ first)[:9]}")

    def _drop_folders(self, ground: Path, name: Path) -> None:
        while not (ground / name).exists() and not any((self.folder / name).iterdir()):
            (self.folder / name).rmdir()
            name = name.parent

    def _has_happened(self) -> bool:
        """Whether the kernel told of anything in a folder that was there at the last walk; the database's own files do not count."""
        found = False
        while True:
            try:
                told = os.read(self._told, 65_536)
            except BlockingIOError:
                return found
            at = 0
            while at < len(told):
                _, what, _, length = EVENT.unpack_from(told, at)
                name = told[at + EVENT.size : at + EVENT.size + length]
                found = found or bool(what & IS_FOLDER) or not name.startswith(DATABASE.encode())
                at += EVENT.size + length

    def _walk(self, folder: str | Path, within: str) -> Iterator[tuple[str, tuple[int, int]]]:
        if self._libc.inotify_add_watch(self._told, os.fsencode(folder), HAPPENED) < 0:
            raise OSError(ctypes.get_errno(), "a folder cannot be watched", str(folder))
        with os.scandir(folder) as entries:
            for entry in entries:
                if entry.is_dir(follow_symlinks=False):
                    yield from self._walk(entry.path, f"{within}{entry.name}/")
                elif not entry.name.startswith(DATABASE):
                    told = entry.stat()
                    yield within + entry.name, (told.st_size, told.st_mtime_ns)
