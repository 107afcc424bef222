"""Reminders: to all alike, at most one a week, in the daytime where she is, ended by one click; and nobody learns of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select, update

from drillhall.acts.remind import remind
from drillhall.people import groups
from drillhall.people.permissions import the_group
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.post import AddressRow, LetterRow
from tests.web.mail.conftest import GROUP, Club, link_in, office


def run(club: Club, at: datetime) -> int:
    with club.hall.store.work() as db:
        return remind(db, office(club.hall), at=at)


def reminders(club: Club) -> list[LetterRow]:
    return [one for one in club.letters() if one.kind == "reminder"]


def noon(club: Club, days: int) -> datetime:
    return datetime.combine(club.hall.clock().date() + timedelta(days=days), datetime.min.time(), UTC) + timedelta(hours=12)


def test_it_says_what_was_set_and_nothing_of_her(club: Club) -> None:
    club.reach()
    club.give()
    assert run(club, noon(club, 2)) == 1
    (letter,) = reminders(club)
    assert "set by Sluice watchers, for Monday 31 March: in 26 days." in letter.text
    assert letter.unsubscribe.startswith("https://hall.example/mail/stop-reminders/")
    assert "whether they have begun or not" in letter.text.replace("\n", " ")


def test_it_is_in_the_language_of_whoever_gets_it(club: Club) -> None:
    club.reach()
    club.give()
    with club.hall.store.work() as db:
        db.execute(update(AccountRow).values(language="de"))
    run(club, noon(club, 2))
    (letter,) = reminders(club)
    assert "aufgegeben von Sluice watchers, für Montag, 31. März: in 26 Tagen." in " ".join(letter.text.split())
    assert letter.subject == "Was deine Gruppen aufgegeben haben"
    assert letter.html.startswith('<!doctype html>\n<html lang="de">')


def test_at_most_one_a_week_from_two_days_after_to_the_day(club: Club) -> None:
    club.reach()
    club.give(for_day=28)
    days = [day for day in range(40) if run(club, noon(club, day))]
    assert days == [2, 9, 16, 23]
    assert len(reminders(club)) == 4


def test_without_a_day_it_ends_after_four_weeks(club: Club) -> None:
    club.reach()
    club.give(for_day=None)
    assert [day for day in range(60) if run(club, noon(club, day))] == [2, 9, 16, 23]


@pytest.mark.parametrize(
    ("zone", "day", "first"),
    [
        ("Europe/Lisbon", "2031-03-29", "08:00"),  # Lisbon: UTC in winter
        ("Europe/Lisbon", "2031-03-30", "07:00"),  # and an hour ahead from this Sunday on (zone database)
        ("Europe/Lisbon", "2031-10-26", "08:00"),  # back again
        ("America/St_Johns", "2031-03-08", "11:30"),  # Newfoundland: three and a half hours behind
        ("America/St_Johns", "2031-03-09", "10:30"),  # two and a half from the second Sunday of March on
        ("America/St_Johns", "2031-11-02", "11:30"),  # back again
    ],
)
def test_it_comes_in_her_morning_also_where_clocks_change(club: Club, zone: str, day: str, first: str) -> None:
    club.reach()
    club.hall.clock.at = datetime.fromisoformat(f"{day}T12:00+00:00") - timedelta(days=3)
    club.give(zone=zone)
    at = datetime.fromisoformat(f"{day}T{first}+00:00")
    assert run(club, at - timedelta(minutes=1)) == 0
    assert run(club, at) == 1


def test_one_click_of_a_mail_program_ends_it_without_cookie_or_form(club: Club) -> None:
    """RFC 8058 section 3.2, from memory: the body alone, answered at once, sent nowhere else."""
    club.reach()
    club.give()
    run(club, noon(club, 2))
    (letter,) = reminders(club)
    path = letter.unsubscribe.removeprefix("https://hall.example")
    client = club.hall.app.test_client(use_cookies=False)
    assert client.get(path, base_url=club.hall.base).status_code == 200
    with club.hall.store.look() as db:
        assert db.scalars(select(AddressRow.reminders)).one() is True, "reading ends nothing"
    answer = client.post(path, data={"List-Unsubscribe": "One-Click"}, base_url=club.hall.base)
    assert (answer.status_code, answer.mimetype) == (200, "text/plain")
    assert reminders(club) == [], "what waits is dropped too"
    assert run(club, noon(club, 9)) == 0
    multipart = {"data": {"List-Unsubscribe": "One-Click"}, "content_type": "multipart/form-data"}
    assert client.post(path, base_url=club.hall.base, **multipart).status_code == 200, "again, and as another kind of form"


def test_a_bare_post_ends_nothing_and_a_confirmation_is_not_clicked_by_a_program(club: Club) -> None:
    club.member.post("/settings/mail", {"address": "pell@club.example"})
    confirm = link_in(club.letters()[0].text, "confirm")
    client = club.hall.app.test_client(use_cookies=False)
    for data in ({}, {"List-Unsubscribe": "One-Click"}):
        assert client.post(confirm, data=data, base_url=club.hall.base).status_code == 422


def test_she_turns_them_off_and_on_herself(club: Club) -> None:
    club.reach()
    club.give()
    club.member.post("/settings/mail/reminders")
    assert run(club, noon(club, 2)) == 0
    club.member.post("/settings/mail/reminders", {"reminders": "yes"})
    assert run(club, noon(club, 2)) == 1


def test_the_leader_learns_nothing(club: Club) -> None:
    club.give()
    club.reach()
    club.member.post("/settings/mail/reminders")
    pages = [f"/groups/{GROUP}", f"/groups/{GROUP}/assignments", f"/groups/{GROUP}/assignments/1"]
    before = [club.leader.get(path).text.partition("<main")[2] for path in pages]
    club.member.post("/settings/mail/reminders", {"reminders": "yes"})
    assert run(club, noon(club, 2)) == 1
    after = [club.leader.get(path).text.partition("<main")[2] for path in pages]
    strip = [[line for line in page.splitlines() if "csrf_token" not in line] for page in before + after]
    assert strip[:3] == strip[3:]


@pytest.mark.parametrize("how", ["left", "leads now", "archived", "ended"])
def test_whom_it_does_not_reach_any_more_is_not_reminded(club: Club, how: str) -> None:
    club.reach()
    club.give()
    with club.hall.store.work() as db:
        group = the_group(db, club.lead, GROUP)
        member = db.scalars(select(MembershipRow).where(MembershipRow.account_id == club.member_id, MembershipRow.until.is_(None))).one()
        if how == "left":
            groups.end_membership(db, group, member.id, by=club.lead, at=club.hall.clock())
        elif how == "leads now":
            groups.make_head(db, group, member.id, by=club.lead, at=club.hall.clock())
        elif how == "archived":
            groups.archive(db, group, by=club.lead, at=club.hall.clock())
    if how == "ended":
        club.leader.post(f"/groups/{GROUP}/assignments/1/end")
    assert run(club, noon(club, 2)) == 0
