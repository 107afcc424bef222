"""An open question over HTTP: asked, answered, told, counted once, and kept from telling too early."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import func, select, update

from drillhall.people import limits
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.open_questions import OpenAnswerRow, OpenDayRow, OpenQuestionRow
from drillhall.store.models.people import AttemptRow
from drillhall.store.models.pictures import PictureRow, RightsRow
from tests.visits import Visitor
from tests.web.open_questions.conftest import Asked


def choices(page: str) -> list[str]:
    return re.findall(r'name="said" value="(\d+)"', page)


def shown_in(page: str) -> str:
    found = re.search(r'name="picture" value="([\w-]+)"', page)
    assert found, page
    return found[1]


def say(asked: Asked, visitor: Visitor, *, right: bool = True) -> str:
    """Answer today's question and return the address of what it shows."""
    page = visitor.get(asked.link).text
    picture = shown_in(page)
    said = next(one for one in choices(page) if (int(one) == asked.truth(picture)) is right)
    answer = visitor.post(asked.link, {"said": said, "picture": picture})
    assert answer.status_code == 303, answer.text
    return str(answer.location)


def counted(asked: Asked) -> int:
    with asked.hall.store.look() as db:
        return db.scalar(select(func.coalesce(func.sum(OpenAnswerRow.times), 0))) or 0


def next_day(asked: Asked) -> None:
    asked.hall.clock.move(days=1)


def test_a_visitor_answers_and_is_told_why(asked: Asked) -> None:
    visitor = asked.visitor()
    page = visitor.get(asked.link).text
    assert len(choices(page)) == 2
    right, missed = visitor.get(say(asked, visitor)).text, asked.visitor()
    assert "Right</span>" in right
    assert re.search("Decides|Helps", right)
    assert 'rel="license"' in right
    assert "Missed</span>" in missed.get(say(asked, missed, right=False)).text
    assert "2 answers so far" in missed.get(say(asked, missed)).text


def test_nothing_tells_the_answer_before_it_is_given(asked: Asked) -> None:
    """Page, addresses and headers are the same whichever of the two it shows: only the picture's own addresses and words differ."""
    pages: dict[tuple[str, ...], dict[int, set[str]]] = {}
    visitor = asked.visitor()
    for _ in range(40):
        page = visitor.get(asked.link).text
        truth, forms = asked.truth(shown_in(page)), tuple(choices(page))
        bare = re.sub(
            r'<div class="picture picture-open">.*?</div>|value="[^"]*"|\d+ \w+ 2031|<p><a href="[^"]*yesterday">.*?</p>',
            "",
            page,
            flags=re.S,
        )
        pages.setdefault(forms, {}).setdefault(truth, set()).add(bare)
        next_day(asked)
    both = [by_truth for by_truth in pages.values() if len(by_truth) == 2]
    assert both, "in forty days both forms of a pair have been shown"
    for by_truth in both:
        assert len(set.union(*by_truth.values())) == 1


def test_todays_answer_is_told_to_nobody_who_has_not_given_one(asked: Asked) -> None:
    for path in (f"{asked.link}/{asked.day}", f"{asked.link}/{asked.day}?said=guessed"):
        answer = asked.visitor().get(path)
        assert answer.status_code == 303
        assert answer.location == asked.link
    told = say(asked, asked.visitor())
    next_day(asked)
    sealed_for_yesterday = told.replace((asked.hall.clock() - timedelta(days=1)).date().isoformat(), asked.day)
    assert asked.visitor().get(sealed_for_yesterday).status_code == 303


def test_one_browser_is_counted_once_a_day(asked: Asked) -> None:
    visitor = asked.visitor()
    say(asked, visitor)
    say(asked, visitor, right=False)
    assert counted(asked) == 1
    next_day(asked)
    say(asked, visitor)
    assert counted(asked) == 2


def test_a_browser_that_keeps_no_cookie_is_told_all_the_same(asked: Asked) -> None:
    visitor = asked.visitor()
    for _ in range(2):
        assert "Right</span>" in visitor.get(say(asked, visitor)).text
        visitor.client.delete_cookie("drillhall-answered", domain="localhost", path=asked.link)
    assert counted(asked) == 2


def test_the_cookie_holds_the_day_alone_and_ends_with_it(asked: Asked) -> None:
    visitor = asked.visitor()
    page = visitor.get(asked.link).text
    answer = visitor.post(asked.link, {"said": choices(page)[0], "picture": shown_in(page)})
    cookie = next(one for one in answer.headers.getlist("Set-Cookie") if one.startswith("drillhall-answered="))
    assert cookie.split("=", 1)[1].startswith("IjIwMzEtMDMtMDMi."), 'the Base64 of "2031-03-03", then a signature'
    assert f"Path={asked.link}" in cookie
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    left = datetime(2031, 3, 4, tzinfo=UTC) - asked.hall.clock()
    assert f"Max-Age={int(left.total_seconds())}" in cookie
    other = asked.visitor()
    page = other.get(asked.link).text
    again = other.post(asked.link, {"said": choices(page)[0], "picture": shown_in(page)})
    mark = next(one for one in again.headers.getlist("Set-Cookie") if one.startswith("drillhall-answered="))
    # Max-Age holds for the day that the hall lives in; the hour beside it is counted from the machine's clock, by the second.
    assert _but_the_hour(mark) == _but_the_hour(cookie), "two visitors carry the same cookie, so that it tells nobody from another"


def _but_the_hour(cookie: str) -> list[str]:
    return [part for part in cookie.split("; ") if not part.startswith("Expires=")]


def test_a_day_begins_at_midnight_where_the_question_lives_across_a_change_of_clocks(asked: Asked) -> None:
    """In Lisbon clocks went forward on 2031-03-30 at 01:00 UTC (last Sunday of March, the rule of the zone database)."""
    with asked.hall.store.work() as db:
        db.execute(update(OpenQuestionRow).values(zone="Europe/Lisbon"))
    for at, day in (
        ("2031-03-29T23:59", "29 March"),
        ("2031-03-30T00:00", "30 March"),
        ("2031-03-30T22:59", "30 March"),
        ("2031-03-30T23:00", "31 March"),
    ):
        asked.hall.clock.at = datetime.fromisoformat(f"{at}+00:00")
        assert day in asked.visitor().get(asked.link).text, at


@pytest.mark.parametrize("day", ["tomorrow", "2031-03-05", "20310303", "2031-3-3", "2031-02-30", "2031-03-02", "yesterday", "x" * 200])
def test_a_day_that_is_none_of_its_own_is_not_there(asked: Asked, day: str) -> None:
    page = asked.visitor().get(asked.link).text
    recipe = re.findall(r"/open/[\w-]+/[\d-]+/([0-9a-f]{32})", page)[0]
    assert asked.visitor().get(f"{asked.link}/{day}").status_code == 404
    assert asked.visitor().get(f"{asked.link}/{day}/{recipe}").status_code == 404


def test_only_the_days_own_picture_is_given_out(asked: Asked) -> None:
    visitor = asked.visitor()
    todays = re.findall(rf"{asked.link}/[\d-]+/[0-9a-f]{{32}}", visitor.get(asked.link).text)
    answer = visitor.get(todays[0])
    assert answer.status_code == 200
    assert answer.content_type.startswith("image/")
    assert answer.headers["Cross-Origin-Resource-Policy"] == "cross-origin"
    assert "Set-Cookie" not in answer.headers
    others = {path for day in range(1, 20) if (path := _on(asked, day))}
    elsewhere = next(path for path in others if path.rpartition("/")[2] not in {one.rpartition("/")[2] for one in todays})
    asked.hall.clock.at = asked.hall.clock.at - timedelta(days=19)
    recipe = elsewhere.rpartition("/")[2]
    assert visitor.get(f"{asked.link}/{asked.day}/{recipe}").status_code == 404, "another day's picture under today's address"
    assert visitor.get(f"/pictures/{shown_in(visitor.get(asked.link).text)}/{recipe}").status_code == 303


def _on(asked: Asked, _day: int) -> str:
    next_day(asked)
    return re.findall(rf"{asked.link}/[\d-]+/[0-9a-f]{{32}}", asked.visitor().get(asked.link).text)[0]


def test_what_was_shown_stays_that_days_even_when_pictures_come_and_go(asked: Asked) -> None:
    picture = shown_in(asked.visitor().get(asked.link).text)
    say(asked, asked.visitor())
    with asked.hall.store.work() as db:
        db.execute(update(OpenQuestionRow).values(seed="quite another"))
    assert shown_in(asked.visitor().get(asked.link).text) == picture


def test_a_page_left_open_over_a_change_is_asked_to_look_again(asked: Asked) -> None:
    visitor = asked.visitor()
    page = visitor.get(asked.link).text
    answer = visitor.post(asked.link, {"said": choices(page)[0], "picture": "00000000-0000-4000-8000-000000000000"})
    assert answer.status_code == 409
    assert "another picture by now" in answer.text
    assert counted(asked) == 0


@pytest.mark.parametrize("said", ["", "0", "999", "x", "1' OR 1=1"])
def test_a_form_that_was_not_offered_is_refused(asked: Asked, said: str) -> None:
    visitor = asked.visitor()
    picture = shown_in(visitor.get(asked.link).text)
    answer = visitor.post(asked.link, {"said": said, "picture": picture})
    assert answer.status_code == 422
    assert "Choose one of the two forms" in answer.text
    assert counted(asked) == 0


def test_an_answer_needs_the_form_of_this_page(asked: Asked) -> None:
    visitor = asked.visitor()
    page = visitor.get(asked.link).text
    answer = visitor.client.post(asked.link, data={"said": choices(page)[0], "picture": shown_in(page)}, base_url=asked.hall.base)
    assert answer.status_code == 400
    assert counted(asked) == 0


def test_too_many_answers_from_one_place_are_refused_without_keeping_the_place(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "OPEN_ANSWER", limits.Limit("open answer", limits.OPEN_ANSWER.what, 2, timedelta(hours=1)))
    visitor = asked.visitor()
    for _ in range(2):
        say(asked, visitor)
    page = visitor.get(asked.link).text
    answer = visitor.post(asked.link, {"said": choices(page)[0], "picture": shown_in(page)})
    assert answer.status_code == 429
    assert int(answer.headers["Retry-After"]) <= 3600
    with asked.hall.store.look() as db:
        kept = set(db.scalars(select(AttemptRow.subject).where(AttemptRow.subject.startswith("open answer"))))
    asked.hall.clock.move(hours=1)
    say(asked, visitor)
    with asked.hall.store.look() as db:
        later = set(db.scalars(select(AttemptRow.subject).where(AttemptRow.subject.startswith("open answer")))) - kept
    assert len(kept) == len(later) == 1, "the same place bears another hash in the next hour"
    assert not any("127.0.0.1" in one for one in kept)


@pytest.mark.parametrize("how", ["ended", "archived", "never there"])
def test_a_question_that_is_over_leads_to_nothing(asked: Asked, how: str) -> None:
    told, todays = say(asked, asked.visitor()), re.findall(rf"{asked.link}/[\d-]+/[0-9a-f]{{32}}", asked.visitor().get(asked.link).text)[0]
    if how == "ended":
        assert asked.leader.post(f"{asked.led}/end").status_code == 303
    if how == "archived":
        with asked.hall.store.work() as db:
            db.execute(update(GroupRow).values(retired_at=asked.hall.clock()))
    for path in (asked.link, told, todays):
        path = path.replace("/open/", "/open/0") if how == "never there" else path
        answer = asked.visitor().get(path)
        assert answer.status_code == 404, path
        assert how == "never there" or "has ended" in answer.text


@pytest.mark.parametrize("how", ["withdrawn", "licence taken back", "permission ended", "held out", "portrait"])
def test_a_picture_that_may_not_be_public_is_neither_asked_nor_given_out(asked: Asked, how: str) -> None:
    todays = re.findall(rf"{asked.link}/[\d-]+/[0-9a-f]{{32}}", asked.visitor().get(asked.link).text)[0]
    say(asked, asked.visitor())
    with asked.hall.store.work() as db:
        if how == "withdrawn":
            db.execute(update(PictureRow).values(retired_at=asked.hall.clock()))
        if how == "licence taken back":
            db.execute(update(RightsRow).values(licence="", licence_url="", may_group=False, may_public=False))
        if how == "permission ended":
            ended = asked.hall.clock().date() - timedelta(days=1)
            db.execute(update(RightsRow).values(may_until=ended))
        if how in ("held out", "portrait"):
            db.execute(update(PictureRow).values(use=how.replace(" ", "-")))
    for path in (asked.link, todays):
        answer = asked.visitor().get(path)
        assert answer.status_code == 404, path
    assert "may not be shown to everybody now" in asked.visitor().get(asked.link).text
    assert asked.leader.get(asked.led).status_code == 200


def test_visitors_leave_no_trace_but_the_counts(asked: Asked) -> None:
    """What is stored of an answer: question, day, form, how often. No time, no place, no name, no mark of a browser."""
    say(asked, asked.visitor())
    assert {column.name for column in OpenAnswerRow.__table__.columns} == {"question_id", "day", "said_form_id", "times"}
    assert {column.name for column in OpenDayRow.__table__.columns} == {"question_id", "day", "pair_id", "picture_id"}
