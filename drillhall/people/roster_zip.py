"""Reads one class out of a OneRoster CSV 1.2 bulk zip: display names and the school's ids, and nothing else of it."""

from __future__ import annotations

import struct
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from datetime import date
from io import BytesIO
from typing import Final

from drillhall.errors import BadRoster
from drillhall.people.roster_columns import CLASSES, COLUMNS, ENROLLMENTS, MANIFEST, ROLES, USERS, head_fault
from drillhall.people.roster_lists import NOTHING_KEPT, checked, display_name, the_name
from drillhall.people.roster_rows import Entry, Faults, read_rows
from drillhall.words import say, say_n

MOST_ZIP_BYTES: Final = 16 * 2**20
MOST_FILES: Final = 100
MOST_FILE_BYTES: Final = 32 * 2**20
"""Of one of the four files, unpacked."""
MOST_RATIO: Final = 100
"""How many times its packed size a file may hold; lists of a school shrink about tenfold."""
SMALL_BYTES: Final = 2**20
_END: Final = struct.Struct("<4s4H2LH")
_READ: Final = (MANIFEST, CLASSES, USERS, ENROLLMENTS)
_NO_ZIP: Final = say("The file cannot be read as a zip. Export it once more.")

Row = Mapping[str, str]
Rows = list[tuple[int, Row]]


def looks_zipped(raw: bytes) -> bool:
    """Whether a file is a zip rather than a text."""
    return raw.startswith((b"PK\x03\x04", b"PK\x05\x06"))


def read_zip(raw: bytes, *, class_said: str, on: date) -> tuple[Entry, ...]:
    """Return the students of a class on a day, or raise BadRoster with every fault by file, row and field.

    `class_said` is its sourcedId, title or classCode; it may be empty where the zip has one class alone.
    """
    faults = Faults()
    files = _unpacked(raw)
    _check_manifest(_rows(MANIFEST, files, faults), faults)
    classes, users, enrollments = (_rows(name, files, faults) for name in (CLASSES, USERS, ENROLLMENTS))
    if faults:
        raise BadRoster(NOTHING_KEPT, faults=faults.all())
    class_id = _the_class([row for _, row in classes], class_said)
    entries = _students(enrollments, users, class_id, on, faults)
    return checked(entries, faults)


def _unpacked(raw: bytes) -> dict[str, bytes]:
    """Return the four files; everything is judged by the zip's own list before it is unpacked, and nothing is put on disk."""
    if len(raw) > MOST_ZIP_BYTES:
        raise BadRoster(say("The zip is larger than {mib} MiB. Export the class alone.", mib=MOST_ZIP_BYTES // 2**20))
    _check_count(raw)
    try:
        with zipfile.ZipFile(BytesIO(raw)) as zipped:
            entries = [one for one in zipped.infolist() if one.filename in _READ]
            if len({one.filename for one in entries}) < len(entries):
                raise BadRoster(say("A file is in the zip twice. Export it once more."))
            for one in entries:
                _check_entry(one)
            return {one.filename: zipped.read(one) for one in entries}
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError, ValueError) as error:
        raise BadRoster(_NO_ZIP) from error


def _check_count(raw: bytes) -> None:
    """Refuse a zip that lists too many files before that list is read into memory."""
    at = raw.rfind(b"PK\x05\x06")
    if at < 0 or len(raw) - at < _END.size:
        raise BadRoster(_NO_ZIP)
    _, _, _, _, count, directory_bytes, _, _ = _END.unpack_from(raw, at)
    if count > MOST_FILES or directory_bytes > SMALL_BYTES:
        raise BadRoster(say("The zip lists more than {most_files} files. A OneRoster zip has fewer than thirty.", most_files=MOST_FILES))


def _check_entry(entry: zipfile.ZipInfo) -> None:
    if entry.file_size > MOST_FILE_BYTES:
        raise BadRoster(
            say(
                "{filename} is larger than {most_file_bytes220} MiB unpacked. Export the class alone.",
                filename=entry.filename,
                most_file_bytes220=MOST_FILE_BYTES // 2**20,
            )
        )
    if entry.file_size > SMALL_BYTES and entry.file_size > MOST_RATIO * max(entry.compress_size, 1):
        raise BadRoster(
            say(
                "{filename} unpacks to more than {most_ratio} times its size. Export it once more.",
                filename=entry.filename,
                most_ratio=MOST_RATIO,
            )
        )
    if entry.flag_bits & 0x1:
        raise BadRoster(say("{filename} is locked with a password. Export it without one.", filename=entry.filename))


def _rows(name: str, files: Mapping[str, bytes], faults: Faults) -> Rows:
    if name not in files:
        faults.say(say("There is no {name} in the zip, at its top.", name=name))
        return []
    rows = list(read_rows(files[name], ",", faults, file=name))
    if not rows:
        faults.say(say("{name}: It is empty.", name=name))
        return []
    head = rows[0][1]
    if wrong := head_fault(name, head):
        faults.add(1, "", say("In the first line {wrong}.", wrong=wrong), file=name)
        return []
    found: Rows = []
    for number, cells in rows[1:]:
        if len(cells) != len(head):
            wrong = say("It has {n} fields; the first line names {head}.", n=len(cells), head=len(head))
            faults.add(number, "", wrong, file=name)
        found.append((number, dict(zip(head, cells, strict=False))))
    if not found and name != MANIFEST:
        faults.say(say("{name}: It has no rows. The standard leaves such a file out.", name=name))
    _check_bulk(name, found, faults)
    return found


def _check_bulk(name: str, rows: Rows, faults: Faults) -> None:
    for number, row in rows if "status" in COLUMNS[name] else ():
        for field in ("status", "dateLastModified"):
            if row.get(field):
                faults.add(number, field, say("It must be empty in a bulk file."), file=name)


def _check_manifest(rows: Rows, faults: Faults) -> None:
    """Refuse another version, and a delta, which says what changed and not who is in the class."""
    said = {row.get("propertyName", ""): (number, row.get("value", "")) for number, row in rows}
    wanted = {"manifest.version": "1.0", "oneroster.version": "1.2"} | {
        f"file.{name.removesuffix('.csv')}": "bulk" for name in _READ if name != MANIFEST
    }
    for name, value in wanted.items() if rows else ():
        number, found = said.get(name, (0, ""))
        if not number:
            faults.say(say("{file}: It does not say {name}.", file=MANIFEST, name=name))
        elif found != value:
            wrong = say("{name} must be {value}; it is {found}.", name=name, value=value, found=found or say("empty"))
            faults.add(number, "value", wrong, file=MANIFEST)


def _the_class(classes: Sequence[Row], said: str) -> str:
    wanted = said.strip()
    if not wanted and len(classes) == 1:
        return classes[0]["sourcedId"]
    by_id = [row for row in classes if row["sourcedId"] == wanted]
    fits = by_id or [row for row in classes if wanted and wanted.casefold() in (row["title"].casefold(), row["classCode"].casefold())]
    if len(fits) == 1:
        return fits[0]["sourcedId"]
    listed = tuple(f"{row['title']} ({row['sourcedId']})" for row in classes[:30])
    if not wanted:
        why = say_n("The zip has {n} class.", "The zip has {n} classes.", len(classes))
    elif fits:
        why = say("More than one class in the zip is called {wanted}.", wanted=wanted)
    else:
        why = say("No class in the zip is called {wanted}.", wanted=wanted)
    raise BadRoster(say("{why} Write which one it is, by its sourcedId, and choose the zip once more.", why=why), faults=listed)


def _students(enrollments: Rows, users: Rows, class_id: str, on: date, faults: Faults) -> list[Entry]:
    """Return the students of a class: enrolled on that day, and not disabled."""
    known: dict[str, tuple[int, Row]] = {}
    twice: dict[str, int] = {}
    for number, row in users:
        if row["sourcedId"] in known:
            twice[row["sourcedId"]] = number
        known.setdefault(row["sourcedId"], (number, row))
    entries = []
    for number, row in enrollments:
        if row["classSourcedId"] == class_id and _counts(number, row, on, faults):
            who = row["userSourcedId"]
            if who not in known:
                faults.add(number, "userSourcedId", say("Nobody in users.csv is {who}.", who=who or say("empty")), file=ENROLLMENTS)
            elif who in twice:
                faults.add(twice[who], "sourcedId", say("{who} stands in row {row} already.", who=who, row=known[who][0]), file=USERS)
            elif (entry := _entry(number, *known[who], faults)) is not None:
                entries.append(entry)
    return entries


def _counts(number: int, row: Row, on: date, faults: Faults) -> bool:
    """Whether an enrollment is a student's and holds on a day: it begins with its first day, and its end is the day after its last."""
    if row["role"] not in ROLES:
        faults.add(number, "role", say("It must be one of {roles}; capitals count.", roles=", ".join(ROLES)), file=ENROLLMENTS)
    days = {}
    for field in ("beginDate", "endDate"):
        try:
            days[field] = date.fromisoformat(row[field]) if row[field] else None
        except ValueError:
            faults.add(number, field, say("It must be a day, such as 2031-09-01."), file=ENROLLMENTS)
            return False
    begins, ends = days["beginDate"], days["endDate"]
    return row["role"] == "student" and (begins is None or begins <= on) and (ends is None or on < ends)


def _entry(enrolled_row: int, number: int, user: Row, faults: Faults) -> Entry | None:
    if user["enabledUser"] not in ("true", "false"):
        faults.add(number, "enabledUser", say("It must be true or false; capitals count."), file=USERS)
        return None
    if user["enabledUser"] == "false":
        return None
    if len(user["sourcedId"]) > 255:
        faults.add(number, "sourcedId", say("It must be at most 255 signs."), file=USERS)
        return None
    given = user["preferredGivenName"] or user["givenName"]
    family = user["preferredFamilyName"] or user["familyName"]
    name = the_name(display_name(given, family), number, "givenName", faults, file=USERS)
    return None if name is None else Entry(name, user["sourcedId"], enrolled_row)
