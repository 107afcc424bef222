"""Opens a folder, or the same folder zipped, in bounds and without a way out of it; nothing is ever unpacked to disk."""

from __future__ import annotations

import os
import stat
import struct
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path, PurePosixPath
from typing import Final

from drillhall.catalogues.folder import CATALOGUE_FILE, Fault, Source
from drillhall.errors import BadImport
from drillhall.words import say

MAX_FILES: Final = 20_000
MAX_BYTES: Final = 4 * 2**30
"""Of all files together."""
MAX_TEXT_BYTES: Final = 16_000_000
"""Of one of the three text files."""
MAX_PICTURE_BYTES: Final = 25_000_000
MAX_RATIO: Final = 100
"""How many times its packed size a zipped file may hold; pictures shrink little, text less than twentyfold."""
SMALL_BYTES: Final = 2**20
"""Below this a ratio harms nobody."""
MAX_DIRECTORY_BYTES: Final = 4 * 2**20
"""Of a zip's own list of files, which is read into memory as a whole."""

THE_FOLDER: Final = say("the folder")
_END: Final = struct.Struct("<4s4H2LH")
_TEXT: Final = (".toml", ".csv")


def open_source(path: Path) -> Source:
    """Open a catalogue's folder, or a zip of it.

    Raises BadImport where there is neither, or where the zip as a whole is not safe to read.
    """
    if path.is_dir():
        return FolderSource(path)
    if not path.is_file():
        raise BadImport(
            say("There is no folder or zip at {path}. Give the path of a catalogue's folder or of the same folder zipped.", path=path)
        )
    return ZipSource(path)


class FolderSource:
    """A folder on disk; links in it are told and not followed."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._faults: list[Fault] = []
        self._sizes: dict[str, int] = {}
        self._walk()
        self._faults += _bounds(self._sizes)

    @property
    def sizes(self) -> Mapping[str, int]:
        """The files by their name within the folder, with their size in bytes."""
        return self._sizes

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What is wrong with the folder as such."""
        return tuple(self._faults)

    def read(self, name: str) -> bytes:
        """Return a file's bytes."""
        if name not in self._sizes:
            raise BadImport(say("There is no file {name} in the folder.", name=name))
        try:
            return (self._path / name).read_bytes()
        except OSError as error:
            raise BadImport(say("{name} cannot be read ({why}). Let whoever runs this read it.", name=name, why=error.strerror)) from error

    def close(self) -> None:
        """Do nothing: no file is held open."""

    def _walk(self) -> None:
        for folder, subfolders, files in os.walk(self._path, onerror=self._unreadable):
            subfolders[:] = sorted(name for name in subfolders if not name.startswith("."))
            for name in [*subfolders, *sorted(files)]:
                full = Path(folder) / name
                inside = full.relative_to(self._path).as_posix()
                if name.startswith("."):
                    continue
                if full.is_symlink():
                    self._faults.append(Fault(inside, say("It is a link."), say("Put the file itself in its place.")))
                elif name in files:
                    self._sizes[inside] = full.stat().st_size
            if len(self._sizes) > MAX_FILES:
                break

    def _unreadable(self, error: OSError) -> None:
        folder = Path(str(error.filename)).relative_to(self._path).as_posix()
        where = THE_FOLDER if folder == "." else say("the folder {folder}", folder=folder)
        self._faults.append(Fault(where, say("It cannot be opened ({why}).", why=error.strerror), say("Let whoever runs this read it.")))


class ZipSource:
    """A zipped folder, read file by file; its names and sizes are judged before anything is unpacked."""

    def __init__(self, path: Path) -> None:
        _check_directory(path)
        try:
            self._zip = zipfile.ZipFile(path)
        except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError) as error:
            raise BadImport(say("The file cannot be read as a zip. Zip the folder again.")) from error
        self._faults: list[Fault] = []
        self._entries: dict[str, zipfile.ZipInfo] = {}
        self._take_entries()
        self._faults += _bounds(self.sizes)

    @property
    def sizes(self) -> Mapping[str, int]:
        """The files by their name within the folder, with their size in bytes."""
        return {name: entry.file_size for name, entry in self._entries.items()}

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What is wrong with the zip as such."""
        return tuple(self._faults)

    def read(self, name: str) -> bytes:
        """Return a file's bytes; never more than the zip's list of files says, which was judged before."""
        entry = self._entries.get(name)
        if entry is None:
            raise BadImport(say("There is no file {name} in the zip.", name=name))
        try:
            return self._zip.read(entry)
        except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
            raise BadImport(say("{name} is damaged in the zip. Zip the folder again.", name=name)) from error

    def close(self) -> None:
        """Close the zip."""
        self._zip.close()

    def _take_entries(self) -> None:
        entries = [entry for entry in self._zip.infolist() if not entry.is_dir() and not _is_hidden(entry.filename)]
        top = _top_folder([entry.filename for entry in entries])
        for entry in entries:
            name = entry.filename.removeprefix(top)
            fault = _entry_fault(entry)
            if fault is None and name in self._entries:
                fault = Fault(name, say("It is in the zip twice."), say("Zip the folder again, each file once."))
            if fault is None:
                self._entries[name] = entry
            else:
                self._faults.append(fault)


def is_safe_name(name: str) -> bool:
    """Whether a file's name stays inside its folder, on any system."""
    parts = PurePosixPath(name).parts
    return (
        bool(parts)
        and not name.startswith("/")
        and not any(sign in name for sign in "\\:\0")
        and not any(part in ("", "..", ".") for part in name.split("/"))
        and name.isprintable()
    )


def _is_hidden(name: str) -> bool:
    # What some systems put beside the files of a folder, unasked; a way out ("..") is not among it.
    return any(part == "__MACOSX" or (part.startswith(".") and part not in (".", "..")) for part in name.split("/"))


def _top_folder(names: list[str]) -> str:
    """Return the one folder that a zip holds, with a final slash; empty where the files stand at the top."""
    tops = {name.split("/")[0] for name in names}
    if len(tops) == 1 and CATALOGUE_FILE not in names:
        (top,) = tops
        return f"{top}/" if all(name.startswith(f"{top}/") for name in names) and is_safe_name(top) else ""
    return ""


def _entry_fault(entry: zipfile.ZipInfo) -> Fault | None:
    name = entry.filename
    if not is_safe_name(name):
        return Fault(ascii(name), say("The name leads out of the folder."), say("Zip the folder again without it."))
    if stat.S_ISLNK(entry.external_attr >> 16):
        return Fault(name, say("It is a link."), say("Put the file itself in its place."))
    if entry.flag_bits & 0x1:
        return Fault(name, say("It is locked with a password."), say("Zip the folder again without one."))
    if entry.file_size > SMALL_BYTES and entry.file_size > MAX_RATIO * max(entry.compress_size, 1):
        return Fault(name, say("It unpacks to more than {most} times its size.", most=MAX_RATIO), say("Zip the folder again without it."))
    return None


def _bounds(sizes: Mapping[str, int]) -> list[Fault]:
    faults = []
    if len(sizes) > MAX_FILES:
        faults.append(Fault(THE_FOLDER, say("It holds more than {most:,} files.", most=MAX_FILES), say("Make two catalogues of it.")))
    if sum(sizes.values()) > MAX_BYTES:
        faults.append(Fault(THE_FOLDER, say("It holds more than {most} GiB.", most=MAX_BYTES // 2**30), say("Make the pictures smaller.")))
    for name, size in sizes.items():
        limit = MAX_TEXT_BYTES if name.endswith(_TEXT) else MAX_PICTURE_BYTES
        if size > limit:
            faults.append(Fault(name, say("It is larger than {most} MB.", most=limit // 1_000_000), say("Make it smaller.")))
    return faults


def _check_directory(path: Path) -> None:
    """Refuse a zip whose own list of files is too long, before that list is read into memory."""
    with path.open("rb") as file:
        size = file.seek(0, os.SEEK_END)
        file.seek(max(0, size - 66_000))
        tail = file.read()
    at = tail.rfind(b"PK\x05\x06")
    if at < 0 or len(tail) - at < _END.size:
        raise BadImport(say("The file cannot be read as a zip. Give a catalogue's folder, or the same folder zipped."))
    _, _, _, _, count, directory_bytes, _, _ = _END.unpack_from(tail, at)
    # The larger kind of zip (zip64) keeps its list elsewhere; no catalogue within bounds needs it.
    if count > MAX_FILES or directory_bytes > MAX_DIRECTORY_BYTES or tail[max(0, at - 20) : at].startswith(b"PK\x06\x07"):
        raise BadImport(say("The file lists more files than a catalogue may hold ({most:,}). Make two catalogues of it.", most=MAX_FILES))
