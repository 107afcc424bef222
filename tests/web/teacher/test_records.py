"""Learning records over HTTP, and a class brought in from a zip: to whoever teaches it alone."""

from __future__ import annotations

from io import BytesIO

from sqlalchemy import select

from drillhall.store.base import Row
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AuditRow
from tests.oneroster import a_user, bulk_zip, enrolled
from tests.web.teacher.a_class import Class
from tests.web.teacher.test_roster import confirm


def test_records_are_a_file_for_whoever_teaches_the_class(room: Class) -> None:
    with room.teacher.post(f"{room.base}/records/xapi") as kept:
        assert kept.headers["Content-Type"] == "application/json"
        assert kept.headers["Content-Disposition"] == "attachment; filename=learning-records-2031-03-03.json"
        assert kept.get_json() == []
    assert "Keep the learning records" in room.teacher.get(f"{room.base}/reports").text
    with room.hall.store.look() as db:
        noted = db.scalars(select(AuditRow).where(AuditRow.act == "learning records taken")).all()
    assert len(noted) == 1
    for who in (room.pupil, room.other, room.stranger):
        assert who.post(f"{room.base}/records/xapi").status_code == 404
    assert room.hall.visitor().post(f"{room.base}/records/xapi").location.startswith("/sign-in")


def test_of_a_zip_names_and_ids_alone_are_kept(room: Class) -> None:
    raw = bulk_zip([a_user("u-1", "Wenna", "Tresco")], [enrolled("e-1", "u-1")])
    sent = {"file": (BytesIO(raw), "class.zip")}
    draft = room.teacher.post(f"{room.base}/roster", sent, content_type="multipart/form-data")
    assert draft.status_code == 303
    assert confirm(room, draft.location).status_code == 303
    with room.hall.store.look() as db:
        everything = repr([db.execute(select(table)).all() for table in Row.metadata.sorted_tables])
        assert len(db.scalars(select(MembershipRow)).all()) == 4
    assert "Wenna T." in everything
    for secret in ("Tresco", "not-to-be-kept", "+00 000", "u-1@example.org", "wenna.login", "Middle"):
        assert secret not in everything, secret


def test_a_faulty_zip_is_told_on_the_page_and_keeps_nothing(room: Class) -> None:
    raw = bulk_zip([a_user("u-1", "", "Tresco")], [enrolled("e-1", "u-1")])
    answer = room.teacher.post(f"{room.base}/roster", {"file": (BytesIO(raw), "class.zip")}, content_type="multipart/form-data")
    assert answer.status_code == 422
    assert "users.csv, row 2, givenName: It is missing" in answer.text
    assert room.teacher.get(f"{room.base}/roster/draft").status_code == 404
