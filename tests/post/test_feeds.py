"""Writing a feed: what it refuses, and an empty one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from defusedxml import ElementTree
from hypothesis import given
from hypothesis import strategies as st

from drillhall.post.feeds import Entry, Feed, write_feed

AT = datetime(2031, 3, 3, tzinfo=UTC)
FEED = Feed("tag:hall.example,2031-03-03:x", "T", "A", "https://hall.example/feed", "https://hall.example", AT, ())


def test_a_feed_without_entries_is_a_feed() -> None:
    assert ElementTree.fromstring(write_feed(FEED)).find("{http://www.w3.org/2005/Atom}entry") is None


@pytest.mark.parametrize("where", ["feed", "entry"])
def test_a_time_without_a_zone_is_refused(where: str) -> None:
    bare = AT.replace(tzinfo=None)
    entry = Entry("tag:hall.example,2031-03-03:y", "T", bare, "https://hall.example", "")
    with pytest.raises(ValueError, match="zone"):
        write_feed(replace(FEED, updated=bare) if where == "feed" else replace(FEED, entries=(entry,)))


@given(st.text(st.characters(codec="utf-8")), st.text(st.characters(codec="utf-8")))
def test_any_words_make_xml(title: str, html: str) -> None:
    entry = Entry("tag:hall.example,2031-03-03:y", title, AT, f'https://hall.example/"{title}', html, rights=html)
    assert ElementTree.fromstring(write_feed(replace(FEED, title=title, entries=(entry,)))) is not None
