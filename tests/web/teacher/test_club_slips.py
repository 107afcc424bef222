"""A slip in a club: its leader gives one to a member without a mail address, and to nobody else; a club has no list."""

from __future__ import annotations

import re

from sqlalchemy import update

from drillhall.store.models.groups import GroupRow, MembershipRow
from tests.cast import LEARNER
from tests.visits import signs_in
from tests.web.teacher.a_class import CLASS, Class
from tests.web.teacher.test_roster import slips_of


def into_a_club(room: Class) -> None:
    """Make a club of the class."""
    with room.hall.store.work() as db:
        db.execute(update(GroupRow).where(GroupRow.public_id == CLASS).values(kind="club"))
        db.execute(update(MembershipRow).where(MembershipRow.role == "teacher").values(role="leader"))


def test_a_leader_gives_a_member_without_an_address_a_slip(room: Class) -> None:
    into_a_club(room)
    found = re.search(r"members/(\d+)/passphrase", room.teacher.get(room.base).text)
    assert found is not None
    assert room.pupil.post(f"{room.base}/members/{found[1]}/passphrase").status_code == 404
    assert room.teacher.post(f"{room.base}/members/{found[1]}/passphrase").status_code == 303
    assert signs_in(room.pupil, passphrase=slips_of(room)[LEARNER.name]) == 303
    assert room.pupil.get("/own-passphrase").status_code == 200
    room.pupil.post("/own-passphrase", {"new": LEARNER.passphrase})
    assert signs_in(room.pupil) == 303


def test_a_club_has_no_list(room: Class) -> None:
    into_a_club(room)
    for path in ("roster", "roster/draft"):
        assert room.teacher.get(f"{room.base}/{path}").status_code == 404
    assert "List of the class" not in room.teacher.get(room.base).text
    kept = room.teacher.get(f"{room.base}/kept").text
    assert "You do not learn here" in kept
    assert LEARNER.name not in kept
