"""OneRoster zips as the standard has them: 1EdTech OneRoster CSV binding 1.2, its tables of columns and its rules for bulk files."""

from __future__ import annotations

from datetime import date

import pytest

from drillhall.errors import BadRoster
from drillhall.people.roster_zip import read_zip
from tests.oneroster import CLASSES, ENROLLMENTS, USERS, a_class, a_user, bulk_zip, enrolled, manifest, written

ON = date(2031, 9, 15)
PEOPLE = [a_user("u-1", "Wenna", "Tresco"), a_user("u-2", "Åse", "Kvist", preferredGivenName="Asa")]
IN = [enrolled("e-1", "u-1"), enrolled("e-2", "u-2")]


def read(raw: bytes, class_said: str = "") -> list[tuple[str, str]]:
    return [(one.name, one.code) for one in read_zip(raw, class_said=class_said, on=ON)]


def faults(raw: bytes, class_said: str = "") -> tuple[str, ...]:
    with pytest.raises(BadRoster) as told:
        read(raw, class_said)
    return told.value.faults or (told.value.sentence,)


def test_names_and_ids_are_read_and_nothing_else() -> None:
    assert read(bulk_zip(PEOPLE, IN)) == [("Wenna T.", "u-1"), ("Asa K.", "u-2")]


def test_a_byte_order_mark_and_own_columns_at_the_right_end_are_let_pass() -> None:
    users = written(USERS + ",metadata.locker", PEOPLE)
    assert len(read(bulk_zip(PEOPLE, IN, users=b"\xef\xbb\xbf" + users))) == 2


def test_only_students_of_the_day_are_read() -> None:
    more = [
        enrolled("e-3", "t-1", role="teacher"),
        enrolled("e-4", "u-3", endDate="2031-09-15"),  # exclusive: the day before was the last
        enrolled("e-5", "u-4", endDate="2031-09-16", beginDate="2031-09-15"),
        enrolled("e-6", "u-5", beginDate="2031-09-16"),
        enrolled("e-7", "u-6"),
        enrolled("e-8", "u-7", "cl-8"),
    ]
    names = ("Gone", "Just", "Later", "Disabled", "Other")
    users = [*PEOPLE, a_user("t-1", "Teacher", "One"), *(a_user(f"u-{number}", name, "X") for number, name in enumerate(names, start=3))]
    users[6]["enabledUser"] = "false"
    two = [a_class(), a_class("cl-8", "Form Eight")]
    assert [name for name, _ in read(bulk_zip(users, [*IN, *more], rooms=two), "cl-7")] == ["Wenna T.", "Asa K.", "Just X."]


def test_of_more_classes_one_is_named() -> None:
    two = [a_class(), a_class("cl-8", "Form Eight")]
    raw = bulk_zip(PEOPLE, [IN[0], enrolled("e-2", "u-2", "cl-8")], rooms=two)
    assert faults(raw) == ("Form Seven (cl-7)", "Form Eight (cl-8)")
    assert read(raw, "form eight") == [("Asa K.", "u-2")]
    assert faults(raw, "cl-9") == ("Form Seven (cl-7)", "Form Eight (cl-8)")


@pytest.mark.parametrize(("name", "columns"), [("classes", CLASSES), ("users", USERS), ("enrollments", ENROLLMENTS)])
def test_every_column_stands_in_its_place_with_its_capitals(name: str, columns: str) -> None:
    all_columns = columns.split(",")
    for place, column in enumerate(all_columns):
        for head in (columns.replace(column, column.upper(), 1), ",".join(all_columns[:place] + all_columns[place + 1 :])):
            told = faults(bulk_zip(PEOPLE, IN, **{name: f"{head}\n".encode()}))
            assert told[0].startswith(f"{name}.csv, row 1: In the first line column"), (column, told)
    assert faults(bulk_zip(PEOPLE, IN, **{name: f"{columns},locker\n".encode()}))[0].endswith("it does not know the column locker.")


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (bulk_zip(PEOPLE, IN, about=manifest(oneroster_version="1.1")), "manifest.csv, row 3, value: oneroster.version must be 1.2"),
        (bulk_zip(PEOPLE, IN, about=manifest(file_users="delta")), "file.users must be bulk; it is delta"),
        (bulk_zip([PEOPLE[0] | {"status": "active"}], IN[:1]), "users.csv, row 2, status: It must be empty in a bulk file"),
        (bulk_zip(PEOPLE, []), "enrollments.csv: It has no rows"),
        (bulk_zip(PEOPLE[:1], IN), "enrollments.csv, row 3, userSourcedId: Nobody in users.csv is u-2"),
        (bulk_zip([*PEOPLE, PEOPLE[0]], IN), "users.csv, row 4, sourcedId: u-1 stands in row 2 already"),
        (bulk_zip(PEOPLE, [*IN, enrolled("e-9", "u-1")]), "Row 4, code: u-1 stands in row 2 already"),
        (bulk_zip([PEOPLE[0] | {"givenName": ""}], IN[:1]), "users.csv, row 2, givenName: It is missing"),
        (bulk_zip([PEOPLE[0] | {"enabledUser": "True"}], IN[:1]), "users.csv, row 2, enabledUser: It must be true or false"),
        (bulk_zip(PEOPLE, [IN[0] | {"role": "Student"}]), "enrollments.csv, row 2, role: It must be one of"),
        (bulk_zip(PEOPLE, [IN[0] | {"endDate": "1.7.2032"}]), "enrollments.csv, row 2, endDate: It must be a day"),
        (bulk_zip(PEOPLE, IN, users=written(USERS, PEOPLE).decode().encode("latin-1")), "users.csv, row 3, column 7: It is not written in"),
        (bulk_zip(PEOPLE, IN, users=written(USERS, PEOPLE) + b"u-9,,\n"), "users.csv, row 4: It has 3 fields; the first line names 23"),
        (bulk_zip(PEOPLE, IN, users=b""), "There is no users.csv in the zip"),
    ],
)
def test_what_the_standard_forbids_is_told_by_file_row_and_field(raw: bytes, told: str) -> None:
    assert any(told in one for one in faults(raw)), faults(raw)


def test_a_zip_is_bounded_before_it_is_unpacked() -> None:
    assert "more than 100 times" in faults(bulk_zip(PEOPLE, IN, users=b"0" * 3_000_000))[0]
    assert "more than 100 files" in faults(bulk_zip(PEOPLE, IN, **{f"x{number}": b"x" for number in range(100)}))[0]
    whole = bulk_zip(PEOPLE, IN)
    assert "cannot be read as a zip" in faults(whole[:-40])[0]
    assert "larger than 16 MiB" in faults(b"PK\x03\x04" + bytes(16 * 2**20))[0]
