"""A season over HTTP: planning, overlaps, printing, repeating, the calendar's secret link, and who may do what."""

from __future__ import annotations

import re
from datetime import timedelta

import icalendar
import pytest
from sqlalchemy import select

from drillhall.people import groups
from drillhall.people.permissions import the_group
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.seasons import CalendarLinkRow, SeasonEntryRow
from tests.cast import LEARNER
from tests.visits import Visitor
from tests.web.groups.test_assigning import DAY, GROUP, Club, club
from tests.web.groups.test_groups import make

__all__ = ["club"]
LESSON = {"kind": "lesson", "first_week": "2031-W12", "last_week": "2031-W13", "purpose": "set:1", "words": ""}
HERE = {"kind": "here", "first_week": "2031-W14", "last_week": "", "purpose": "", "words": "Young stints, by the <sluice>"}


def put(club: Club, fields: dict[str, str], **more: str) -> int:
    return club.leader.post(f"{club.base}/season", fields | more).status_code


def link_of(visitor: Visitor, base: str) -> str:
    answer = visitor.post(f"{base}/calendar")
    assert answer.status_code == 303
    page = visitor.get(answer.location).text
    return re.findall(r"http://localhost(/groups/calendar/[\w-]+\.ics)", page)[0]


def test_a_plan_is_made_seen_by_all_and_printed(club: Club) -> None:
    assert (put(club, LESSON), put(club, HERE)) == (303, 303)
    for visitor in (club.leader, club.member):
        for path in (f"{club.base}/season", f"{club.base}/season/print"):
            page = visitor.get(path).text
            assert "Young stints, by the &lt;sluice&gt;" in page
            assert "12 to 13" in page
            assert "<b>Lesson:</b>" in page
            assert re.search(r"10\s*<b>\(now\)</b>|1 to 11\s*<b>\(now\)</b>", page), "the hall's day is in week 10"
    assert "Put something in" not in club.member.get(f"{club.base}/season").text
    assert "from Monday 17 March" in club.member.get(club.base).text, "the lesson has given the group its set"


def test_overlapping_lessons_are_refused_with_both_named_and_what_was_typed_kept(club: Club) -> None:
    put(club, LESSON)
    answer = club.leader.post(
        f"{club.base}/season", LESSON | {"first_week": "2031-W13", "last_week": "2031-W15", "purpose": "", "words": "Legs"}
    )
    assert answer.status_code == 422
    sentence = re.findall(r"“Legs” would lie over “[^”]+”, weeks 12 to 13 of 2031", answer.text)
    assert sentence
    assert 'value="2031-W15"' in answer.text
    with club.hall.store.look() as db:
        assert len(db.scalars(select(SeasonEntryRow)).all()) == 1


@pytest.mark.parametrize(
    ("fields", "status", "sentence"),
    [
        ({"first_week": ""}, 422, "The first week must be a week"),
        ({"first_week": "2031-W53"}, 422, "2031 has 52 weeks"),
        ({"last_week": "2031-W11"}, 422, "The last week comes before the first"),
        ({"purpose": "", "words": ""}, 422, "in your own words"),
        ({"purpose": "set:x"}, 422, "Choose what the group drills"),
        ({"purpose": "set:99999999999999"}, 422, "Choose what the group drills"),
        ({"purpose": "assignment:77"}, 404, "no such assignment"),
        ({"purpose": "set:77"}, 404, "no such pair set"),
        ({"kind": "party"}, 422, "a lesson, a holiday"),
        ({"words": "x" * 201}, 422, "200 letters at most"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(club: Club, fields: dict[str, str], status: int, sentence: str) -> None:
    answer = club.leader.post(f"{club.base}/season", LESSON | fields)
    assert (answer.status_code, sentence in answer.text) == (status, True), answer.text
    with club.hall.store.look() as db:
        assert db.scalars(select(SeasonEntryRow)).all() == []


def test_a_set_that_the_group_has_already_is_a_conflict(club: Club) -> None:
    club.give()
    assert put(club, LESSON) == 409
    assert put(club, LESSON, purpose="assignment:1") == 303


def test_an_entry_is_moved_and_taken_out(club: Club) -> None:
    put(club, HERE)
    where = f"{club.base}/season/1"
    assert club.leader.get(where).status_code == 200
    assert club.leader.post(where, {"first_week": "2031-W20", "last_week": "2031-W19", "words": "x"}).status_code == 422
    assert club.leader.post(where, {"first_week": "2031-W20", "last_week": "", "words": "Terns"}).status_code == 303
    assert "Terns" in club.leader.get(f"{club.base}/season").text
    assert club.leader.post(f"{where}/out").status_code == 303
    assert "Nothing is planned yet" in club.leader.get(f"{club.base}/season").text
    assert club.leader.post(f"{where}/out").status_code == 404


def test_last_years_plan_is_repeated(club: Club) -> None:
    put(club, HERE)
    club.leader.post(f"{club.base}/season", LESSON)
    assert "Repeat 2031" in club.leader.get(f"{club.base}/season?year=2032").text
    answer = club.leader.post(f"{club.base}/season/repeat", {"year": "2032"})
    assert "2 repeated." in club.leader.get(answer.location).text
    assert "Young stints" in club.leader.get(f"{club.base}/season?year=2032").text
    for year in ("1999", "2200", "x"):
        assert club.leader.post(f"{club.base}/season/repeat", {"year": year}).status_code in {404, 422}
    assert club.leader.get(f"{club.base}/season?year=9999").status_code == 404


def test_a_calendar_program_reads_the_season_by_link_alone_and_follows_changes(club: Club) -> None:
    put(club, LESSON)
    day = DAY + timedelta(days=21)
    club.leader.post(f"{club.base}/outings", {"title": "Spring tide", "day": day.isoformat(), "place": "Old quay", "purpose": "set:1"})
    link, program = link_of(club.member, club.base), club.hall.app.test_client(use_cookies=False)
    answer = program.get(link)
    assert (answer.status_code, answer.content_type) == (200, "text/calendar; charset=utf-8")
    assert answer.headers["Cache-Control"].startswith("private")
    before = {str(event["UID"]): event for event in icalendar.Calendar.from_ical(answer.data).walk("VEVENT")}
    assert [str(event["SUMMARY"]).partition(":")[0] for event in before.values()] == ["Lesson", "Spring tide"]
    (outing,) = (event for event in before.values() if str(event["SUMMARY"]) == "Spring tide")
    assert (outing.decoded("DTSTART"), str(outing["LOCATION"]), outing["SEQUENCE"]) == (day, "Old quay", 0)
    assert "tide" in str(outing["DESCRIPTION"])
    club.leader.post(f"{club.base}/outings/1/off")
    after = {str(event["UID"]): event for event in icalendar.Calendar.from_ical(program.get(link).data).walk("VEVENT")}
    assert after.keys() == before.keys()
    assert (after[str(outing["UID"])]["STATUS"], after[str(outing["UID"])]["SEQUENCE"]) == ("CANCELLED", 1)


def test_the_link_is_shown_once_kept_as_a_hash_and_dead_when_renewed_or_ended(club: Club) -> None:
    first = link_of(club.member, club.base)
    assert "/groups/calendar/" not in club.member.get(f"{club.base}/calendar").text
    with club.hall.store.look() as db:
        assert first.split("/")[-1].removesuffix(".ics") not in repr([row.token_hash for row in db.scalars(select(CalendarLinkRow))])
    second, anybody = link_of(club.member, club.base), club.hall.visitor()
    assert (anybody.get(first).status_code, anybody.get(second).status_code) == (404, 200)
    assert club.member.post(f"{club.base}/calendar/end").status_code == 303
    assert anybody.get(second).status_code == 404
    assert anybody.get("/groups/calendar/guessed.ics").status_code == 404


@pytest.mark.parametrize("how", ["left", "archived"])
def test_the_link_dies_with_the_membership_and_with_the_group(club: Club, how: str) -> None:
    link, others = link_of(club.member, club.base), link_of(club.leader, club.base)
    if how == "left":
        club.member.post(f"{club.base}/leave")
    else:
        club.leader.post(f"{club.base}/archive")
    assert club.hall.visitor().get(link).status_code == 404
    assert club.hall.visitor().get(others).status_code == (200 if how == "left" else 404)


def test_strangers_other_groups_and_a_leader_who_lost_the_role_plan_nothing(club: Club) -> None:
    put(club, HERE)
    stranger = club.hall.enter(LEARNER, known=True)
    assert stranger.get(f"{club.base}/season").status_code == 404
    own = make(stranger, "Her own")
    assert stranger.get(f"{own}/season/1").status_code == 404
    assert stranger.post(f"{own}/season/1/out").status_code == 404
    with club.hall.store.work() as db:
        group = the_group(db, club.who, GROUP)
        membership = db.scalars(select(MembershipRow).where(MembershipRow.role == "member")).one()
        groups.make_head(db, group, membership.id, by=club.who, at=club.hall.clock())
        groups.step_down(db, group, by=club.who, at=club.hall.clock())
    assert club.leader.get(f"{club.base}/season").status_code == 200, "she is still in it"
    assert put(club, HERE, first_week="2031-W20") in {403, 404}
    assert club.leader.get(f"{club.base}/season/1").status_code in {403, 404}
    with club.hall.store.look() as db:
        assert len(db.scalars(select(SeasonEntryRow)).all()) == 1
