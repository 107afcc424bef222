"""The feed of an open question against RFC 4287: read back by feedparser, and the required elements asserted here.

feedparser takes a feed without an id without a word, so what RFC 4287 requires is asserted by hand.
Sources: RFC 4287 sections 3.3 and 4.1 (elements), RFC 3339 section 5.6 (dates), RFC 4151 section 2.1 (tag URIs); from memory.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

import feedparser
import pytest
from defusedxml import ElementTree
from sqlalchemy import update

from drillhall.store.models.open_questions import OpenQuestionRow
from drillhall.store.models.pictures import PictureRow
from tests.web.open_questions.conftest import Asked, asked
from tests.web.open_questions.test_asking import say

__all__ = ["asked"]

ATOM = "{http://www.w3.org/2005/Atom}"
RFC_3339 = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")
TAG_URI = re.compile(r"tag:[a-z0-9.-]+(@[a-z0-9.-]+)?,\d{4}(-\d\d(-\d\d)?)?:[\w/.~!$&'()*+,;=:@%?-]*")


def fetch(asked: Asked) -> bytes:
    answer = asked.visitor().get(f"{asked.link}/feed")
    assert answer.status_code == 200
    assert answer.content_type.startswith("application/atom+xml")
    assert "Set-Cookie" not in answer.headers
    return answer.data


def after(asked: Asked, days: int) -> bytes:
    for _ in range(days):
        asked.hall.clock.move(days=1)
    return fetch(asked)


def one(parent: Any, name: str) -> Any:
    found = parent.findall(ATOM + name)
    assert len(found) == 1, name
    return found[0]


def test_what_the_rfc_requires_is_there(asked: Asked) -> None:
    root = ElementTree.fromstring(after(asked, 3))
    assert root.tag == f"{ATOM}feed"
    assert one(one(root, "author"), "name").text
    selves = [link for link in root.findall(f"{ATOM}link") if link.get("rel") == "self"]
    assert [link.get("href") for link in selves] == [f"http://localhost{asked.link}/feed"]
    entries = root.findall(f"{ATOM}entry")
    assert len(entries) == 4
    for part in (root, *entries):
        assert one(part, "title").text
        assert TAG_URI.fullmatch(one(part, "id").text)
        assert RFC_3339.fullmatch(one(part, "updated").text)
    for entry in entries:
        assert one(entry, "content").get("type") == "html"
        assert [link.get("rel") for link in entry.findall(f"{ATOM}link")] == ["alternate"], "one alternate of a type and language"
    assert len({one(part, "id").text for part in (root, *entries)}) == 5


def test_feedparser_reads_it_whole(asked: Asked) -> None:
    read = feedparser.parse(after(asked, 3))
    assert read.version == "atom10"
    assert not read.bozo
    assert read.feed.title == "The Thursday bird"
    assert [entry.updated_parsed.tm_mday for entry in read.entries] == [6, 5, 4, 3]


def test_names_stay_when_days_pass_and_the_title_changes(asked: Asked) -> None:
    before = {entry.id for entry in feedparser.parse(after(asked, 2)).entries}
    assert asked.leader.post(asked.led, {"title": "Another name", "sites": ""}).status_code == 303
    read = feedparser.parse(after(asked, 1))
    assert before <= {entry.id for entry in read.entries}
    assert read.feed.id == feedparser.parse(fetch(asked)).feed.id


def test_todays_answer_is_nowhere_and_yesterdays_is_in_todays(asked: Asked) -> None:
    """Take the answer of the day before out of an entry, and what is left speaks of both forms alike."""
    truths: dict[str, set[str]] = {}
    for _ in range(30):
        page = asked.visitor().get(asked.link).text
        picture = re.findall(r'name="picture" value="([\w-]+)"', page)[0]
        entry = feedparser.parse(fetch(asked)).entries[0]
        own, _, yesterday = entry.content[0].value.partition("<p>Yesterday")
        bare = re.sub(r"https?://\S+|width=\"\d+\"|height=\"\d+\"|alt=\"[^\"]*\"", "", own)
        truths.setdefault(f"{entry.title} {bare} {entry.rights}", set()).add(str(asked.truth(picture)))
        assert bool(yesterday) is (asked.hall.clock().date() > datetime(2031, 3, 3).date())  # noqa: DTZ001 - a date alone
        asked.hall.clock.move(days=1)
    assert any(len(forms) == 2 for forms in truths.values()), "the same words have stood over either form"


def test_yesterdays_answer_says_how_many_knew(asked: Asked) -> None:
    say(asked, asked.visitor())
    say(asked, asked.visitor(), right=False)
    content = feedparser.parse(after(asked, 1)).entries[0].content[0].value
    assert "1 of 2 said so" in content


@pytest.mark.parametrize("day", ["2031-03-30", "2031-10-26"])
def test_a_day_begins_at_its_own_midnight_when_clocks_change(asked: Asked, day: str) -> None:
    """Lisbon: UTC in winter, an hour ahead in summer; the change falls on the last Sundays of March and October (zone database)."""
    with asked.hall.store.work() as db:
        db.execute(update(OpenQuestionRow).values(zone="Europe/Lisbon"))
    asked.hall.clock.at = datetime.fromisoformat(f"{day}T12:00+00:00")
    stamps = [entry.updated for entry in feedparser.parse(after(asked, 1)).entries[:2]]
    summer_after = day == "2031-03-30"
    assert stamps[0].endswith("T00:00:00+01:00" if summer_after else "T00:00:00+00:00")
    assert stamps[1].endswith("T00:00:00+00:00" if summer_after else "T00:00:00+01:00")


def test_signs_that_xml_forbids_and_needs_escaped_do_not_break_it(asked: Asked) -> None:
    title = 'Mud & <b>reeds</b> \x01 ]]> "quoted" \ufffe'
    assert asked.leader.post(asked.led, {"title": title, "sites": ""}).status_code == 303
    read = feedparser.parse(fetch(asked))
    assert not read.bozo
    assert ElementTree.fromstring(fetch(asked)).findtext(f"{ATOM}title") == 'Mud & <b>reeds</b>  ]]> "quoted" '


def test_a_day_whose_picture_was_withdrawn_is_left_out(asked: Asked) -> None:
    say(asked, asked.visitor())
    asked.hall.clock.move(days=1)
    with asked.hall.store.work() as db:
        db.execute(update(PictureRow).values(retired_at=asked.hall.clock()))
    read = feedparser.parse(fetch(asked))
    assert not read.bozo
    assert read.entries == []


def test_an_ended_question_has_no_feed(asked: Asked) -> None:
    asked.leader.post(f"{asked.led}/end")
    assert asked.visitor().get(f"{asked.link}/feed").status_code == 404
