"""The keeper's pages: invitations, accounts, the state of the hall."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from drillhall.people import groups
from drillhall.store.session import Store
from drillhall.web import keeper as pages
from tests.cast import KEEPER, LEADER, LEARNER, STRANGER
from tests.visits import Hall, Visitor, open_hall


@pytest.fixture
def keeper(hall: Hall) -> Visitor:
    return hall.enter(KEEPER, is_keeper=True)


def _link(visitor: Visitor) -> str:
    found = re.search(r"http://\S+/join/[\w-]+", visitor.get("/hall/invitations").text)
    return found[0] if found else ""


def test_an_invitation_is_shown_once_and_works(hall: Hall, keeper: Visitor) -> None:
    answer = keeper.post("/hall/invitations", {"note": "Thursday's walk", "places": "2", "days": "3"})
    assert (answer.status_code, answer.location) == (303, "/hall/invitations")
    link = _link(keeper)
    assert link.startswith("http://localhost/join/")
    assert _link(keeper) == ""
    path = link.removeprefix("http://localhost")
    fields = {"name": LEARNER.name, "passphrase": LEARNER.passphrase, "old_enough": "yes"}
    assert hall.visitor().post(path, fields).status_code == 303
    page = keeper.get("/hall/invitations").text
    assert "Thursday&#39;s walk" in page
    assert "1 of 2 places taken" in page
    hall.clock.move(days=3)
    assert hall.visitor().get(path).status_code == 404


def test_the_link_carries_the_address_by_which_others_come(sqlite_store: Store, tmp_path: Path) -> None:
    far = open_hall(sqlite_store, tmp_path, public_url="https://hall.example")
    visitor = far.enter(KEEPER, is_keeper=True)
    visitor.post("/hall/invitations", {"note": "", "places": "1", "days": "3"})
    assert "https://hall.example/join/" in visitor.get("/hall/invitations").text


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"places": "many"}, "Places must be a whole number"),
        ({"places": "0"}, "from 1 to 200 places"),
        ({"days": "365"}, "from 1 to 90 days"),
        ({"note": "a" * 121}, "120 letters"),
    ],
)
def test_an_invitation_that_cannot_be_keeps_what_was_typed(keeper: Visitor, change: dict[str, str], why: str) -> None:
    answer = keeper.post("/hall/invitations", {"note": "A note", "places": "2", "days": "3"} | change)
    assert answer.status_code == 422
    assert why in answer.text
    assert 'value="3"' in answer.text or "days" in change
    assert _link(keeper) == ""


def test_an_invitation_ends_when_the_keeper_says_so(hall: Hall, keeper: Visitor) -> None:
    keeper.post("/hall/invitations", {"note": "", "places": "1", "days": "3"})
    path = _link(keeper).removeprefix("http://localhost")
    assert keeper.post("/hall/invitations/1/end").status_code == 303
    assert hall.visitor().get(path).status_code == 404
    assert keeper.post("/hall/invitations/99/end").status_code == 404


def test_closing_an_account_puts_its_owner_out(hall: Hall, keeper: Visitor) -> None:
    person = hall.add(LEARNER)
    visitor = hall.enter(LEARNER, known=True)
    assert f"Close the account of {LEARNER.name}" in keeper.get("/hall/people").text
    assert keeper.post(f"/hall/people/{person.id}/close").status_code == 303
    assert not visitor.is_in()
    assert "closed 3 March" in keeper.get("/hall/people").text
    assert keeper.post(f"/hall/people/{person.id}/close").status_code == 409
    assert keeper.post("/hall/people/99/close").status_code == 404


def test_the_keeper_is_told_which_groups_nobody_leads_any_more(hall: Hall, keeper: Visitor) -> None:
    leader, member = hall.add(LEADER), hall.add(LEARNER)
    with hall.store.work() as db:
        made = groups.make_group(db, by=leader, title="Sluice watchers", kind="club", is_paid=False, public_id="g", at=hall.clock())
        groups.add_member(db, made.id, member.id, at=hall.clock())
    assert "Sluice watchers" not in keeper.get("/hall/people").text
    assert keeper.post(f"/hall/people/{leader.id}/close").status_code == 303
    page = keeper.get("/hall/people").text
    assert "Groups that nobody leads" in page
    assert f"Make {LEARNER.name} leader" in page
    assert keeper.post(f"/hall/groups/{made.id}/members/1/lead").status_code == 404
    assert keeper.post(f"/hall/groups/{made.id}/members/2/lead").status_code == 303
    assert "Groups that nobody leads" not in keeper.get("/hall/people").text


def test_a_keeper_does_not_close_her_own(hall: Hall, keeper: Visitor) -> None:
    assert keeper.post("/hall/people/1/close").status_code == 403
    assert keeper.is_in()


def test_opening_the_hall_to_all_and_shutting_it(hall: Hall, keeper: Visitor) -> None:
    assert hall.visitor().get("/sign-up").status_code == 404
    keeper.post("/hall/sign-up", {"open": "yes"})
    assert hall.visitor().get("/sign-up").status_code == 200
    assert "<b>Anybody</b>" in keeper.get("/hall").text
    keeper.post("/hall/sign-up", {"open": "nonsense"})  # anything but yes shuts it
    assert hall.visitor().get("/sign-up").status_code == 404


def test_the_age_from_which_one_joins_alone_is_the_keepers_to_set(hall: Hall, keeper: Visitor) -> None:
    keeper.post("/hall/sign-up", {"open": "yes"})
    assert "I am 16 or older" in hall.visitor().get("/sign-up").text
    for years, why in (("0", "Years: from 1 to 21"), ("22", "Years: from 1 to 21"), ("fourteen", "Years must be a whole number")):
        refused = keeper.post("/hall/least-age", {"years": years})
        assert (refused.status_code, refused.text.count(why)) == (422, 2), "above the form and at the field"
    assert "I am 16 or older" in hall.visitor().get("/sign-up").text
    assert keeper.post("/hall/least-age", {"years": "14"}).location == "/hall"
    assert "I am 14 or older" in hall.visitor().get("/sign-up").text
    assert 'value="14"' in keeper.get("/hall").text


def test_the_state_of_the_hall_counts_and_tells_nobodys_answers(hall: Hall, keeper: Visitor, tmp_path: Path) -> None:
    hall.add(LEARNER)
    page = keeper.get("/hall").text
    assert "SQLite, a file in the data folder" in page
    assert str(tmp_path) in page
    assert re.search(r"<dt>Accounts</dt><dd class=\"num\">2</dd>", page)
    assert LEARNER.name not in page
    assert "this machine alone" in page


def test_a_folder_of_very_many_files_is_not_counted_while_one_waits(hall: Hall, keeper: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "MOST_FILES_COUNTED", 0)
    assert "more files than can be counted" in keeper.get("/hall").text


@pytest.mark.parametrize("path", ["/hall", "/hall/people", "/hall/invitations"])
def test_for_others_these_pages_are_not_there(hall: Hall, path: str) -> None:
    page = hall.enter(STRANGER).get(path)
    assert page.status_code == 404
    assert "There is no such page here" in page.text
    assert "not yours to see. Check the address." in page.text


def test_the_way_about_shows_the_hall_to_its_keeper_alone(hall: Hall, keeper: Visitor) -> None:
    assert 'href="/hall"' in keeper.get("/settings").text
    assert 'href="/hall"' not in hall.enter(LEARNER).get("/settings").text
