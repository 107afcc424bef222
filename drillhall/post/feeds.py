"""Writes an Atom feed. Source: RFC 4287; its dates are those of RFC 3339, its permanent names tag URIs by RFC 4151."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from xml.sax.saxutils import escape, quoteattr

MEDIA_TYPE: Final = "application/atom+xml; charset=utf-8"
_NOT_IN_XML: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 (section 2.2, Char) does not allow, not even escaped."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry: its permanent name, when it was last changed, where it leads, and its content as HTML; `rights` is a credit."""

    id: str
    title: str
    updated: datetime
    link: str
    html: str
    rights: str = ""


@dataclass(frozen=True, slots=True)
class Feed:
    """A feed: its permanent name, its own address (`itself`), the page that it belongs to, who stands for it, and its entries,
    all of it in one `language` (BCP 47)."""

    id: str
    title: str
    author: str
    itself: str
    link: str
    updated: datetime
    entries: Sequence[Entry]
    language: str = "en"


def write_feed(feed: Feed) -> bytes:
    """Return a feed as it goes over the wire; raise ValueError at a time without a zone, which RFC 3339 has no way to write."""
    head = (
        _text("id", feed.id),
        _text("title", feed.title),
        _time(feed.updated),
        f"<author>{_text('name', feed.author)}</author>",
        f'<link rel="self" type="application/atom+xml" href={_quoted(feed.itself)}/>',
        f'<link rel="alternate" type="text/html" href={_quoted(feed.link)}/>',
    )
    lines = ['<?xml version="1.0" encoding="utf-8"?>', f'<feed xmlns="http://www.w3.org/2005/Atom" xml:lang="{feed.language}">', *head]
    return "\n".join([*lines, *(_entry(entry) for entry in feed.entries), "</feed>", ""]).encode()


def _entry(entry: Entry) -> str:
    parts = [
        _text("id", entry.id),
        _text("title", entry.title),
        _time(entry.updated),
        f'<link rel="alternate" type="text/html" href={_quoted(entry.link)}/>',
        *([_text("rights", entry.rights)] if entry.rights else []),
        f'<content type="html">{escape(_clean(entry.html))}</content>',
    ]
    return "\n".join(["<entry>", *parts, "</entry>"])


def _text(name: str, words: str) -> str:
    return f"<{name}>{escape(_clean(words))}</{name}>"


def _time(at: datetime) -> str:
    if at.utcoffset() is None:
        raise ValueError("a time in a feed must say its zone")
    return f"<updated>{at.isoformat(timespec='seconds')}</updated>"


def _quoted(address: str) -> str:
    return quoteattr(_clean(address))


def _clean(words: str) -> str:
    return _NOT_IN_XML.sub("", words)
