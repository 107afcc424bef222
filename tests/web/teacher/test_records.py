"""Learning records over HTTP, and a class brought in from a zip: to whoever teaches it alone."""

from __future__ import annotations

import zipfile
from io import BytesIO

from sqlalchemy import func, select, update

from drillhall.people import accounts
from drillhall.people.permissions import is_steward
from drillhall.practice.assigning import Wanted, assign
from drillhall.store.base import Row
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AuditRow
from drillhall.store.models.pictures import PictureRow, RightsRow
from tests.cast import TEACHER
from tests.checks.test_qti import check_package
from tests.hall import MADE_AT
from tests.oneroster import a_user, bulk_zip, enrolled
from tests.web.teacher.a_class import CLASS, Class
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


def test_questions_of_what_the_class_is_given_leave_as_items_with_no_held_out_picture(room: Class) -> None:
    day = room.hall.clock().date()
    with room.hall.store.work() as db:
        group = db.scalars(select(GroupRow).where(GroupRow.public_id == CLASS)).one()
        teacher = accounts.the_person_called(db, TEACHER.name)
        assert not is_steward(db, teacher)
        given = assign(db, group.id, Wanted(room.set_id, day), by=teacher.id, today=day, at=MADE_AT)
        stays = db.scalars(select(PictureRow.id).where(PictureRow.use == "practice", PictureRow.form_id.is_not(None))).first()
        hers = {"creator": "Ferenc Halvorsen", "licence": "", "licence_url": "", "agreed": "group", "granted_by": "him"}
        db.execute(update(RightsRow).where(RightsRow.picture_id == stays).values(**hers))
        db.execute(update(PictureRow).where(PictureRow.id == stays).values(owner_id=None))
        practice = db.scalar(select(func.count()).select_from(PictureRow).where(PictureRow.use == "practice"))
    address = f"{room.base}/assignments/{given}/items.zip"
    assert address in room.teacher.get(f"{room.base}/assignments/{given}").text
    with room.teacher.get(address) as kept, zipfile.ZipFile(BytesIO(kept.get_data())) as packed:
        files = {name: packed.read(name) for name in packed.namelist()}
    assert check_package(files)
    assert sum(name.startswith("pictures/") for name in files) == (practice or 0) - 1, "all but the one whose rights keep it here"
    assert "Left out" in files["credits.txt"].decode()
    for who in (room.pupil, room.other, room.stranger):
        assert who.get(address).status_code == 404
    room.teacher.post(f"{room.base}/assignments/{given}/end")
    assert room.teacher.get(address).status_code == 404
    assert room.teacher.get(f"{room.base}/assignments/99/items.zip").status_code == 404


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
