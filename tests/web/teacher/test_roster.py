"""The list of a class, from what was pasted to the pupil who signs in; and who may do none of it."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy import select

from drillhall.people import limits
from drillhall.store.models.catalogue import CatalogueRow, StewardRow
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow, AuditRow
from drillhall.store.models.rosters import RosterPlaceRow
from tests.cast import LEARNER, Someone
from tests.visits import Visitor, signs_in
from tests.web.teacher.a_class import CLASS, OTHER, Class

LIST = "Wenna T., 7c-01\nCorentin Ä., 7c-02\n"
OWN = "an umbrella for the wet goat"


def give(room: Class, listed: str = LIST, **more: Any) -> Any:
    """Let the teacher give a list."""
    return room.teacher.post(f"{room.base}/roster", {"list": listed} | more)


def confirm(room: Class, draft: str) -> Any:
    """Let the teacher confirm what a draft's page shows."""
    mark = re.search(r'name="mark" value="(\w+)"', room.teacher.get(draft).text)
    assert mark is not None
    adds = {"adds": "yes"} if "adds" in draft else {}
    return room.teacher.post(f"{room.base}/roster/draft", {"mark": mark[1]} | adds)


def bring(room: Class, listed: str = LIST, **more: Any) -> Any:
    """Give a list and confirm it."""
    return confirm(room, give(room, listed, **more).location)


def slips_of(room: Class, who: Visitor | None = None, base: str = "") -> dict[str, str]:
    """Return the passphrases on the slips by name."""
    page = (who or room.teacher).get(f"{base or room.base}/slips").text
    found = re.findall(r"<dt>Name</dt><dd><b>(.*?)</b></dd><dt>Passphrase</dt><dd><b>(.*?)</b>", page)
    return {name.replace("&#39;", "'"): said for name, said in found}


def names(room: Class) -> set[str]:
    with room.hall.store.look() as db:
        return set(db.scalars(select(AccountRow.name)))


def test_a_list_is_shown_first_and_written_when_it_is_confirmed(room: Class) -> None:
    before = names(room)
    answer = give(room)
    assert answer.status_code == 303
    page = room.teacher.get(answer.location).text
    assert "New: 2" in page
    assert "Wenna T." in page
    assert "Corentin Ä." in page
    assert names(room) == before
    assert confirm(room, answer.location).location.endswith("/slips")
    assert names(room) == before | {"Wenna T.", "Corentin Ä."}
    assert slips_of(room).keys() == {"Wenna T.", "Corentin Ä."}


def test_a_slip_leads_to_a_passphrase_of_ones_own_and_to_nothing_else(room: Class) -> None:
    bring(room)
    said = slips_of(room)["Wenna T."]
    pupil = room.hall.visitor()
    answer = pupil.post("/sign-in", {"name": "Wenna T.", "passphrase": said})
    assert answer.status_code == 303
    assert answer.location == "/own-passphrase"
    assert not pupil.is_in()
    page = pupil.get("/own-passphrase").text
    assert "Teodora Vasch" in page
    assert "Form Six" in page
    refused = pupil.post("/own-passphrase", {"new": said})
    assert refused.status_code == 422
    assert "the one on the slip" in refused.text
    assert pupil.post("/own-passphrase", {"new": "short"}).status_code == 422
    assert pupil.post("/own-passphrase", {"new": OWN}).location == "/sign-in?chosen=yes"
    assert signs_in(pupil, "Wenna T.", said) == 422
    assert pupil.post("/sign-in", {"name": "Wenna T.", "passphrase": OWN}).location == "/"
    assert pupil.is_in()
    assert "Form Six" in pupil.get("/groups").text
    assert slips_of(room).keys() == {"Corentin Ä."}
    assert pupil.get("/own-passphrase").status_code == 404


def test_a_slip_is_over_after_four_weeks_and_after_another_one(room: Class) -> None:
    bring(room)
    first = slips_of(room)["Wenna T."]
    room.teacher.post(f"{room.base}/slips", {"anew": "yes"})
    second = slips_of(room)["Wenna T."]
    assert first != second
    assert signs_in(room.hall.visitor(), "Wenna T.", first) == 422
    late = room.hall.visitor()
    assert signs_in(late, "Wenna T.", second) == 303
    room.hall.clock.move(minutes=31)
    assert late.post("/own-passphrase", {"new": OWN}).status_code == 404
    room.hall.clock.move(days=28)
    answer = late.post("/sign-in", {"name": "Wenna T.", "passphrase": second})
    assert answer.status_code == 422
    assert "is over" in answer.text


def test_whoever_is_gone_from_a_list_rests_and_comes_back_with_it(room: Class) -> None:
    bring(room)
    page = room.teacher.get(give(room, "Wenna Tresco, 7c-01").location).text
    assert "To rest: 1" in page
    assert "Corentin Ä." in page
    assert "on the list: Wenna Tresco" in page
    bring(room, "Wenna Tresco, 7c-01")
    assert "At rest" in room.teacher.get(f"{room.base}/roster").text
    assert "Corentin Ä." in names(room)
    alone = give(room, "Corentin Ä., 7c-02", adds="yes").location
    page = room.teacher.get(alone).text
    assert "Back: 1" in page
    assert "To rest" not in page
    draft = give(room).location
    assert "Back: 1" in room.teacher.get(draft).text
    confirm(room, draft)
    assert "At rest" not in room.teacher.get(f"{room.base}/roster").text


def test_one_rests_and_comes_back_by_a_button_and_by_her_teachers_alone(room: Class) -> None:
    bring(room)
    wenna, corentin = slips_of(room).items()
    page = room.teacher.get(f"{room.base}/roster").text
    rest = re.findall(r'action="(/groups/[^"]*/roster/\d+/rest)"', page)
    assert len(rest) == 2
    for who in (room.pupil, room.other, room.stranger):
        assert who.post(rest[0]).status_code == 404
    assert room.teacher.post(rest[0]).status_code == 303
    assert room.teacher.post(rest[0]).status_code == 404, "she rests already"
    page = room.teacher.get(f"{room.base}/roster").text
    assert len(re.findall(r"/roster/\d+/rest", page)) == 1
    (back,) = re.findall(r'action="(/groups/[^"]*/roster/at-rest/\d+/back)"', page)
    for who in (room.pupil, room.other, room.stranger):
        assert who.post(back).status_code == 404
    assert room.teacher.post(back).status_code == 303
    assert room.teacher.post(back).status_code == 404, "she is back already"
    assert "At rest" not in room.teacher.get(f"{room.base}/roster").text
    # The slip that she had not used yet is as it was.
    assert signs_in(room.hall.visitor(), *corentin) == signs_in(room.hall.visitor(), *wenna) == 303
    with room.hall.store.look() as db:
        acts = [row.act for row in db.scalars(select(AuditRow).order_by(AuditRow.id)) if row.act in ("membership ended", "brought back")]
        assert acts == ["membership ended", "brought back"]
        by_link = db.scalars(select(MembershipRow.id).join(AccountRow).where(AccountRow.name == LEARNER.name)).one()
    assert room.teacher.post(f"{room.base}/roster/{by_link}/rest").status_code == 404, "not on the list"


def test_a_list_that_only_adds_lets_nobody_rest_and_one_who_joined_by_link_stays(room: Class) -> None:
    bring(room)
    draft = give(room, "Meriel B., 7c-03", adds="yes").location
    page = room.teacher.get(draft).text
    assert "To rest" not in page
    assert "Not on the list: 1" in page
    assert LEARNER.name in page
    confirm(room, draft)
    told = room.teacher.get(f"{room.base}/roster").text
    assert all(name in told for name in ("Wenna T.", "Corentin Ä.", "Meriel B."))


def test_a_name_that_is_taken_gets_a_number_and_never_anothers_account(room: Class) -> None:
    bring(room, "Pell Ammerby\nOda Querfurth")  # a stranger's name, and one of the class who joined by link
    page = room.teacher.get(f"{room.base}/roster").text
    assert "Pell Ammerby 2" in page
    with room.hall.store.look() as db:
        placed = dict(db.execute(select(AccountRow.name, RosterPlaceRow.made_here).join(RosterPlaceRow)).all())  # type: ignore[arg-type]
    assert placed == {"Pell Ammerby 2": True, "Oda Querfurth": False}
    assert "Form Six" not in room.stranger.get("/groups").text


def test_every_bad_row_is_told_by_row_and_field_and_nothing_is_kept(room: Class) -> None:
    listed = "Wenna T., 1\n, 2\nMeriel B., 1\nwenna@example.org, 4\nOdd, 5, 6, 7\nPip\n"
    answer = give(room, listed)
    assert answer.status_code == 422
    for told in (
        "Row 2, name: It is missing",
        "Row 3, code: 1 stands in row 1",
        "Row 4, name: That looks like an address",
        "Row 5: It has 4",
    ):
        assert told in answer.text, told
    assert "Row 6, code: It is missing, while others have one" in answer.text
    assert "meriel" in answer.text.casefold(), "what was pasted is still there"
    assert room.teacher.get(f"{room.base}/roster/draft").status_code == 404
    assert give(room, "  ").status_code == 422


def test_what_was_shown_is_what_is_done(room: Class) -> None:
    draft = give(room).location
    mark = re.search(r'name="mark" value="(\w+)"', room.teacher.get(draft).text)
    assert mark is not None
    give(room, "Somebody Else")
    answer = room.teacher.post(f"{room.base}/roster/draft", {"mark": mark[1]})
    assert answer.status_code == 409
    assert "has changed since" in answer.text
    assert "Somebody Else" not in names(room)
    assert "Wenna T." not in names(room)


def test_a_list_waits_for_a_day_and_can_be_left(room: Class) -> None:
    give(room)
    assert room.teacher.post(f"{room.base}/roster/draft/drop").status_code == 303
    assert room.teacher.get(f"{room.base}/roster/draft").status_code == 404
    give(room)
    room.hall.clock.move(hours=11)
    assert room.teacher.get(f"{room.base}/roster/draft").status_code == 200
    room.hall.clock.move(hours=14)
    fresh = room.hall.enter(Someone("Teodora Vasch", "chalk dust on a green windowsill", "UTC"), known=True)
    assert fresh.get(f"{room.base}/roster/draft").status_code == 404


def test_long_lists_are_made_some_at_a_time_and_say_how_far(room: Class) -> None:
    bring(room, "\n".join(f"Pupil {number}" for number in range(1, 20)))
    page = room.teacher.get(f"{room.base}/slips").text
    assert "8 of 19 are made" in page
    assert '<progress max="19" value="8"' in page
    assert "<dt>Passphrase" not in page
    assert signs_in(room.hall.visitor(), "Pupil 9", "") == 422
    for told in ("16 of 19", "<dt>Passphrase"):
        room.teacher.post(f"{room.base}/slips")
        assert told in room.teacher.get(f"{room.base}/slips").text
    assert len(slips_of(room)) == 19


def test_slips_are_shown_in_the_browser_that_made_them_until_they_are_put_away(room: Class) -> None:
    bring(room)
    elsewhere = room.hall.enter(Someone("Teodora Vasch", "chalk dust on a green windowsill", "UTC"), known=True)
    assert slips_of(room, elsewhere) == {}
    assert slips_of(room)
    room.teacher.post(f"{room.base}/slips/away")
    assert slips_of(room) == {}
    assert "2 people have not signed in" in room.teacher.get(f"{room.base}/slips").text


def membership_of(room: Class, name: str, base: str = "") -> str:
    """Return the number under which the group's page offers somebody a new passphrase, or nothing."""
    page = room.teacher.get(base or room.base).text
    found = re.search(
        rf'members/(\d+)/passphrase">.*?Give {name} a new passphrase', page.replace("\n", " ").rpartition(f"<b>{name}</b>")[2]
    )
    return found[1] if found else ""


def test_a_new_passphrase_signs_out_is_logged_and_told(room: Class) -> None:
    member = membership_of(room, LEARNER.name)
    assert room.pupil.is_in()
    assert room.teacher.post(f"{room.base}/members/{member}/passphrase").location.endswith("/slips")
    assert not room.pupil.is_in()
    assert signs_in(room.pupil) == 422, "the old one is over"
    assert signs_in(room.pupil, passphrase=slips_of(room)[LEARNER.name]) == 303
    told = room.pupil.get("/own-passphrase").text
    assert "Teodora Vasch" in told
    assert "gave you a new passphrase" in told
    assert "If you did not ask for it" in told
    with room.hall.store.look() as db:
        assert "passphrase reset" in db.scalars(select(AuditRow.act)).all()


def test_passphrases_are_neither_given_nor_tried_without_end(room: Class, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("GIVE_PASSPHRASE", "PASSPHRASE"):
        monkeypatch.setattr(limits, name, replace(getattr(limits, name), most=2))
    give_one = f"{room.base}/members/{membership_of(room, LEARNER.name)}/passphrase"
    assert [room.teacher.post(give_one).status_code for _ in range(2)] == [303, 303]
    said = slips_of(room)[LEARNER.name]
    assert room.teacher.post(give_one).status_code == room.teacher.post(f"{room.base}/slips", {"anew": "yes"}).status_code == 429
    assert slips_of(room)[LEARNER.name] == said, "the one given before is still good"
    assert signs_in(room.pupil, passphrase=said) == 303
    assert [room.pupil.post("/own-passphrase", {"new": "short"}).status_code for _ in range(3)] == [422, 422, 429]


def test_nobody_is_given_a_passphrase_by_which_one_would_have_more_than_one_has(room: Class) -> None:
    member = membership_of(room, LEARNER.name)
    with room.hall.store.work() as db:
        account = db.scalars(select(AccountRow).where(AccountRow.name == LEARNER.name)).one()
        catalogue_id = db.scalars(select(CatalogueRow.id)).first()
        db.add(StewardRow(catalogue_id=catalogue_id, account_id=account.id))
    assert membership_of(room, LEARNER.name) == ""
    answer = room.teacher.post(f"{room.base}/members/{member}/passphrase")
    assert answer.status_code == 403
    assert "writes a catalogue" in answer.text
    assert room.pupil.is_in()


def test_another_class_its_pupils_and_its_lists_are_not_there(room: Class) -> None:
    bring(room)
    member = membership_of(room, LEARNER.name)
    for path in ("roster", "roster/draft", "slips", "kept"):
        for who in (room.other, room.stranger):
            assert who.get(f"{room.base}/{path}").status_code == 404, path
    for path in ("roster", "roster/draft", "roster/draft/drop", "slips", "slips/away", f"members/{member}/passphrase"):
        for who in (room.other, room.stranger):
            assert who.post(f"{room.base}/{path}", {"list": LIST}).status_code == 404, path
    assert room.other.post(f"/groups/{OTHER}/members/{member}/passphrase").status_code == 404
    assert room.other.get(f"/groups/{OTHER}/slips").status_code == 200
    assert slips_of(room, room.other, f"/groups/{OTHER}") == {}


def test_a_pupil_sees_what_is_kept_of_herself_and_a_teacher_of_all(room: Class) -> None:
    bring(room)
    hers = room.teacher.get(f"{room.base}/kept").text
    assert "7c-01" in hers
    assert LEARNER.name in hers
    assert "law of your place" in hers
    own = room.pupil.get(f"{room.base}/kept").text
    assert LEARNER.name in own
    assert "7c-01" not in own
    assert "Wenna" not in own
    assert CLASS in own


def test_an_archived_class_takes_no_list(room: Class) -> None:
    room.teacher.post(f"{room.base}/archive")
    assert give(room).status_code == 409
    assert "archived" in room.teacher.get(f"{room.base}/roster").text


def test_lists_do_not_tell_whose_names_are_taken_without_end(room: Class, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "CLASS_LIST", replace(limits.CLASS_LIST, most=2))
    assert [give(room, listed).status_code for listed in ("", LIST, LIST, LIST)] == [422, 303, 303, 429], "a broken one costs none"
