"""Acts on what is others' write a line in the log: every route that can do one, driven, or with the reason why it need not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select

from drillhall.people.audit import ON_OTHERS, OWN
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow, AuditRow, InvitationRow
from drillhall.store.models.pictures import PictureOfferRow, PictureRow
from drillhall.web.who_may import ACTION_OF
from tests.cast import KEEPER, LEADER, LEARNER, TEACHER
from tests.hall import MADE_AT
from tests.visits import Visitor
from tests.web.teacher.a_class import Class, open_class

OVER_OTHERS = {"lead a group", "keep a roster", "give a passphrase", "keep the hall", "see weak spots by name"}

PLAN = "What a group does next is shown to everybody in it, with who set it; nobody's own things change."
DRAFT = "A list that is not confirmed yet changes nobody; confirming it is noted."
SHOWN = "What was made is only looked at or put away; making it was noted."
NOT_NOTED = {
    **dict.fromkeys(("groups.assign", "groups.end_assignment", "groups.outing", "groups.outing_list", "groups.call_off"), PLAN),
    **dict.fromkeys(("groups.season_entry", "groups.end_season_entry", "groups.repeat_season"), PLAN),
    **dict.fromkeys(("open.make", "open.change", "open.end"), "An open question has answers of nobody in particular."),
    **dict.fromkeys(("teacher.roster", "teacher.drop_roster"), DRAFT),
    "teacher.put_slips_away": SHOWN,
    **dict.fromkeys(("curating.different", "curating.one_scene", "curating.label_right"), "Who said it is kept with the picture."),
}

ELSEWHERE = {
    "keeper.let_lead": "made leader",  # tests/people/test_groups.py, tests/web/test_keeper.py
    "groups.step_down": "no longer teacher",
    "groups.make_head": "made teacher",
    "teacher.make_slips": "passphrase reset",
    "teacher.rest_pupil": "membership ended",  # tests/web/teacher/test_roster.py
    "teacher.bring_pupil_back": "brought back",
    **dict.fromkeys(("curating.accept", "curating.accept_many"), "picture accepted"),  # tests/acts/test_accept_offer.py
    "curating.correct": "label corrected",  # tests/acts/test_correct_label.py
    "curating.undo_label": "label correction undone",
}


Driven = tuple[Visitor, str, str, dict[str, Any], str]
"""Who asks for which endpoint at which address with which fields, and the act that this must write."""


@pytest.fixture
def room(built_hall: Path, tmp_path: Path) -> Iterator[Class]:
    """The class of other tests."""
    with open_class(built_hall, tmp_path / "hall") as opened:
        yield opened


def _id(room: Class, row: Any, **by: str) -> int:
    with room.hall.store.look() as db:
        return int(db.scalars(select(row.id).filter_by(**by).order_by(row.id.desc())).first() or 0)


def _membership(room: Class, name: str) -> int:
    with room.hall.store.look() as db:
        query = select(MembershipRow.id).join(AccountRow, AccountRow.id == MembershipRow.account_id).where(AccountRow.name == name)
        return db.scalars(query.where(MembershipRow.until.is_(None))).one()


def _an_offer(room: Class) -> int:
    with room.hall.store.work() as db:
        picture = db.scalars(select(PictureRow.id).order_by(PictureRow.id)).first()
        db.add(PictureOfferRow(picture_id=picture, catalogue_id=1, offered_at=MADE_AT, decision=""))
    return _id(room, PictureOfferRow)


def _a_picture(room: Class) -> str:
    with room.hall.store.look() as db:
        return db.scalars(select(PictureRow.public_id).where(PictureRow.use == "practice").order_by(PictureRow.id)).first() or ""


def _last(room: Class) -> int:
    with room.hall.store.look() as db:
        return db.scalar(select(func.max(AuditRow.id))) or 0


def _acts_since(room: Class, last: int) -> list[str]:
    with room.hall.store.look() as db:
        return list(db.scalars(select(AuditRow.act).where(AuditRow.id > last)))


def _driven(room: Class) -> Iterator[Driven]:
    """Yield who asks for which route of which address with what, and the act that this must write."""
    teacher, base = room.teacher, room.base
    yield teacher, "groups.invite", f"{base}/invitations", {"places": "3", "days": "7"}, "invitation made"
    yield teacher, "groups.end_invitation", f"{base}/invitations/{_id(room, InvitationRow)}/end", {}, "invitation ended"
    yield teacher, "groups.report_file", f"{base}/reports/progress/csv", {}, "report taken"
    yield teacher, "teacher.records", f"{base}/records/xapi", {}, "learning records taken"
    fields = room.fields() | {f"extra-{_id(room, AccountRow, name=LEARNER.name)}": "50"}
    yield teacher, "teacher.set_field_test", f"{base}/field-tests/new/{room.set_id}", fields, "time given"
    test = f"{base}/field-tests/1"
    room.sit("/1")
    room.hall.clock.move(minutes=10)
    yield teacher, "teacher.field_test_file", f"{test}/sitters/csv", {}, "results taken"
    yield teacher, "teacher.shut_field_test", f"{test}/shut", {}, "field test shut"
    yield teacher, "teacher.release_field_test", f"{test}/release", {}, "field test released"
    second = room.set_test().rpartition("/")[2]
    yield teacher, "teacher.call_off_field_test", f"{base}/field-tests/{second}/off", {}, "field test called off"
    yield from _of_a_list(room)
    yield from _of_the_hall(room)


def _of_a_list(room: Class) -> Iterator[Driven]:
    teacher, base = room.teacher, room.base
    teacher.post(f"{base}/roster", {"list": f"{LEARNER.name}, 1\nWenna T., 2"})
    mark = teacher.get(f"{base}/roster/draft").text.partition('name="mark" value="')[2].partition('"')[0]
    yield teacher, "teacher.confirm_roster", f"{base}/roster/draft", {"mark": mark}, "class list confirmed"
    pupil = _membership(room, "Wenna T.")
    yield teacher, "teacher.give_passphrase", f"{base}/members/{pupil}/passphrase", {}, "passphrase reset"
    yield teacher, "privacy.export_pupil", f"{base}/pupils/{pupil}/export", {}, "export made"
    sure = {"passphrase": TEACHER.passphrase, "for_good": "yes", "pictures": "take"}
    yield teacher, "privacy.erase_pupil", f"{base}/pupils/{pupil}/erase", sure, "person erased"
    room.join("Meriel B.")
    yield teacher, "groups.end_membership", f"{base}/members/{_membership(room, 'Meriel B.')}/end", {}, "membership ended"
    yield teacher, "groups.archive", f"{base}/archive", {}, "group archived"
    yield teacher, "groups.open_again", f"{base}/open-again", {}, "group opened again"


def _of_the_hall(room: Class) -> Iterator[Driven]:
    keeper = room.hall.enter(KEEPER, known=True)
    yield keeper, "keeper.invite", "/hall/invitations", {"places": "1", "days": "1"}, "invitation made"
    yield keeper, "keeper.end_invitation", f"/hall/invitations/{_id(room, InvitationRow)}/end", {}, "invitation ended"
    yield keeper, "keeper.sign_up", "/hall/sign-up", {"open": "yes"}, "hall opened to all"
    yield keeper, "keeper.set_least_age", "/hall/least-age", {"years": "14"}, "least age set"
    yield keeper, "keeper.demand_second_step", "/hall/second-step", {"demand": "no"}, "second step no longer demanded"
    theirs, teacher_id = "/catalogues/small-estuary", _id(room, AccountRow, name=TEACHER.name)
    yield keeper, "catalogue.add_steward", f"{theirs}/stewards", {"name": TEACHER.name}, "steward added"
    yield keeper, "catalogue.end_steward", f"{theirs}/stewards/end", {"account": str(teacher_id)}, "steward removed"
    yield keeper, "curating.decline", f"{theirs}/offers/{_an_offer(room)}/decline", {"note": "blurred"}, "picture declined"
    yield keeper, "curating.take_out", f"{theirs}/pictures/{_a_picture(room)}/take-out", {}, "picture taken out"
    days = {"audit": "30", "sign_ins": "7", "letters": "7", "closed_accounts": "60"}
    yield keeper, "privacy.keeping", "/hall/keeping", days, "retention set"
    other = _id(room, AccountRow, name=LEADER.name)
    yield keeper, "privacy.export_account", f"/hall/people/{other}/export", {}, "export made"
    yield keeper, "keeper.close_account", f"/hall/people/{other}/close", {}, "account closed"
    sure = {"passphrase": KEEPER.passphrase, "for_good": "yes", "pictures": "take"}
    yield keeper, "privacy.erase_account", f"/hall/people/{other}/erase", sure, "person erased"


def test_every_act_on_what_is_others_writes_a_line(room: Class) -> None:
    driven = set()
    for who, endpoint, address, fields, act in _driven(room):
        last = _last(room)
        answer = who.post(address, fields)
        answer.close()
        assert answer.status_code < 400, f"{endpoint}: {answer.status_code}"
        assert act in _acts_since(room, last), endpoint
        assert act in ON_OTHERS
        driven.add(endpoint)
    unsafe = {rule.endpoint for rule in room.hall.app.url_map.iter_rules() if "POST" in (rule.methods or ())}
    over_others = {endpoint for endpoint in unsafe if ACTION_OF[endpoint] in OVER_OTHERS or endpoint.startswith("curating.")}
    missing = over_others - driven - set(NOT_NOTED) - set(ELSEWHERE)
    assert missing == set(), "let a new act on others write a line and drive it here, or say in NOT_NOTED why it need not"
    assert set(NOT_NOTED) | set(ELSEWHERE) <= over_others
    assert set(ELSEWHERE.values()) <= {*ON_OTHERS, *OWN}


def test_every_act_that_is_written_stands_in_one_of_the_two_lists() -> None:
    code = "".join(file.read_text(encoding="utf-8") for file in (Path(__file__).parents[2] / "drillhall").rglob("*.py"))
    written = set(re.findall(r"audit\.note\(\s*db,\s*\"([^\"]+)\"", code))
    assert len(written) > 30
    assert written <= {*ON_OTHERS, *OWN}


def test_the_keeper_reads_the_log_by_page_and_by_act(room: Class) -> None:
    keeper = room.hall.enter(KEEPER, known=True)
    learner = _id(room, AccountRow, name=LEARNER.name)
    keeper.post(f"/hall/people/{learner}/export")
    page = keeper.get("/hall/log?act=export+made").text
    assert f"by {KEEPER.name}: {LEARNER.name}" in page
    assert "<li><b>Signed in" not in page
    assert "<li><b>Signed in" in keeper.get("/hall/log?act=no+such+act").text  # then all
    for _ in range(30):
        keeper.post(f"/hall/people/{learner}/export")
        keeper.post("/hall/sign-up", {"open": "no"})
    first = keeper.get("/hall/log").text
    older = first.partition("before=")[2].partition('"')[0]
    assert first.count("<li><b>") == 50
    assert int(older) == _last(room) - 49
    assert "Older" not in keeper.get("/hall/log?before=20").text
    assert "No line" in keeper.get("/hall/log?before=0").text
    assert room.teacher.get("/hall/log").status_code == 404
