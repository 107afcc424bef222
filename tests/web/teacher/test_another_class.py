"""A teacher of another class is refused on every route that takes an id of this one, under its address and under her own."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from werkzeug.routing import Rule

from drillhall.core.weeks import Week
from drillhall.people import accounts, audit
from drillhall.practice.assigning import Wanted, assign
from drillhall.practice.outings import OutingSaid, plan_outing
from drillhall.practice.seasons import EntrySaid, plan_entry
from drillhall.store.base import Row
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow, InvitationRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.seasons import SeasonEntryRow
from tests.cast import LEARNER, TEACHER
from tests.web.planned import asks_openly
from tests.web.teacher.a_class import CLASS, OTHER, Class
from tests.web.teacher.test_roster import bring, give
from tests.web.teacher.tested import a_sitting

IDS = {"test_id", "sitting_id", "assignment_id", "outing_id", "entry_id", "invitation_id", "membership_id", "account_id", "public_id"}
"""Arguments of routes that name something of one class."""


def things_of(room: Class) -> dict[str, Any]:
    """Fill the class with one of everything; return what leads to each, by argument."""
    bring(room, "Wenna T.\nMeriel B.")
    bring(room, "Wenna T.")  # so that Meriel rests
    give(room)
    room.teacher.post(f"{room.base}/invitations", {"days": "7", "places": "3"})
    sitting = a_sitting(room.hall, CLASS, room.pupil)
    at, day = room.hall.clock(), room.hall.clock().date()
    with room.hall.store.work() as db:
        hers = accounts.the_person_called(db, TEACHER.name).id
        group = db.scalars(select(GroupRow).where(GroupRow.public_id == CLASS)).one()
        given = assign(db, group.id, Wanted(room.set_id, day), by=hers, today=day, at=at)
        outing = plan_outing(db, group.id, OutingSaid("Out", day, assignment_id=given), by=hers, today=day, at=at)
        week = Week.of(day)
        plan_entry(db, group.id, EntrySaid("here", week, week, "Stints"), by=hers, today=week.first_day, at=at)
        picture = db.scalars(select(PictureRow.public_id).where(PictureRow.use == "practice", PictureRow.form_id.is_not(None))).first()
        pupil = db.scalars(select(AccountRow).where(AccountRow.name == LEARNER.name)).one()
        rests = db.scalars(select(AccountRow.id).where(AccountRow.name == "Meriel B.")).one()
        audit.note(db, "export made", at=at, by=hers, subject=f"account {pupil.id}")
        found = {
            "membership_id": db.scalars(select(MembershipRow.id).where(MembershipRow.account_id == pupil.id)).one(),
            "entry_id": db.scalars(select(SeasonEntryRow.id)).first(),
            "invitation_id": db.scalars(select(InvitationRow.id)).first(),
        }
    assert picture is not None
    words = {"name": "progress", "day": asks_openly(room.hall, CLASS, picture), "public_id": picture}
    return sitting | found | words | {"assignment_id": given, "outing_id": outing, "account_id": rests, "group_key": CLASS}


def test_a_teacher_of_another_class_is_refused_on_every_route(room: Class) -> None:
    things = things_of(room)
    rules = [one for one in room.hall.app.url_map.iter_rules() if one.arguments & {"group_key", "test_id", "sitting_id"}]
    assert len(rules) > 70
    reached = {rule.endpoint for rule in rules if "GET" in methods(rule) and status(room, rule, "GET", things, room.teacher) == 200}
    reached |= {rule.endpoint for rule in rules if "GET" in methods(rule) and status(room, rule, "GET", things, room.pupil) == 200}
    assert {rule.endpoint for rule in rules if "GET" in methods(rule)} == reached, "what is refused below is there"
    asked = [
        (rule, method, key) for rule in rules for method in methods(rule) for key in (CLASS, OTHER) if key == CLASS or rule.arguments & IDS
    ]
    before = all_rows(room)
    found = {(str(rule), method, key): status(room, rule, method, things | {"group_key": key}, room.other) for rule, method, key in asked}
    assert {one: answer for one, answer in found.items() if answer != 404} == {}
    assert all_rows(room) == before


def methods(rule: Rule) -> set[str]:
    return (rule.methods or set()) & {"GET", "POST"}


def status(room: Class, rule: Rule, method: str, values: dict[str, Any], who: Any) -> int:
    with room.hall.app.test_request_context():
        address = room.hall.app.url_map.bind("localhost").build(rule.endpoint, {one: values[one] for one in rule.arguments}, method=method)
    with who.client.open(address, method=method, headers={"X-CSRFToken": who.token()}) as answer:
        return int(answer.status_code)


def all_rows(room: Class) -> dict[str, list[str]]:
    with room.hall.store.look() as db:
        return {table.name: sorted(map(repr, db.execute(select(table)).all())) for table in Row.metadata.sorted_tables}
