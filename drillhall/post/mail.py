"""Writes a letter: from one content its text part and its HTML part, which loads nothing from outside, and the headers.

Sources, from memory: RFC 5322 (message format), RFC 2369 and RFC 8058 (List-Unsubscribe, one click), RFC 3834 (Auto-Submitted),
RFC 2046 section 5.1.4 (alternatives, the plainest first), RFC 2387 and RFC 2392 (what belongs to the HTML part, by `cid:`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime, parseaddr
from html import escape
from textwrap import wrap
from typing import Final
from urllib.parse import urlsplit

WIDTH: Final = 72
PICTURE: Final = "picture"
"""The name by which the HTML part shows what is enclosed."""


@dataclass(frozen=True, slots=True)
class Block:
    """A paragraph of a letter; with `link` it leads there, with `is_picture` its words stand in place of what is enclosed."""

    words: str
    link: str = ""
    is_picture: bool = False


@dataclass(frozen=True, slots=True)
class Enclosed:
    """A picture that travels with a letter."""

    content: bytes
    media_type: str


@dataclass(frozen=True, slots=True)
class Written:
    """A letter ready to go; `unsubscribe` is the address that lets out of the list, or empty."""

    sender: str
    to: str
    subject: str
    text: str
    html: str
    message_id: str
    unsubscribe: str = ""
    enclosed: Enclosed | None = None


def write_text(blocks: Sequence[Block]) -> str:
    """Return the text part: paragraphs of at most 72 signs a line, addresses on lines of their own and never broken."""
    parts = []
    for block in blocks:
        words = "\n".join("\n".join(wrap(line, WIDTH, break_long_words=False, break_on_hyphens=False)) for line in block.words.splitlines())
        parts.append(f"{words}\n{block.link}" if block.link else words)
    return "\n\n".join(parts) + "\n"


def write_html(blocks: Sequence[Block], *, title: str, language: str = "en") -> str:
    """Return the HTML part: the same words, nothing that is fetched, no style, no script; `language` (BCP 47) is that of the words."""
    inside = "\n".join(_paragraph(block) for block in blocks)
    head = f'<head><meta charset="utf-8"><title>{escape(title)}</title></head>'
    return f'<!doctype html>\n<html lang="{language}">{head}\n<body>\n{inside}\n</body></html>\n'


def write_message(letter: Written, *, at: datetime) -> EmailMessage:
    """Return a letter as it goes over the wire."""
    message = EmailMessage(policy=SMTP)
    message["From"] = _mailbox(letter.sender)
    message["To"] = _mailbox(letter.to)
    message["Subject"] = " ".join(letter.subject.split())
    message["Date"] = format_datetime(at)
    message["Message-ID"] = letter.message_id
    message["Auto-Submitted"] = "auto-generated"
    if letter.unsubscribe:
        message["List-Unsubscribe"] = f"<{letter.unsubscribe}>"
        if letter.unsubscribe.startswith("https://"):  # RFC 8058 knows no other
            message["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    message.set_content(letter.text)
    message.add_alternative(letter.html, subtype="html")
    if letter.enclosed is not None:
        kind, _, subtype = letter.enclosed.media_type.partition("/")
        part = message.get_payload()[1]  # type: ignore[index]  # the alternative just added
        part.add_related(letter.enclosed.content, kind, subtype, cid=f"<{PICTURE}>", disposition="inline")  # type: ignore[union-attr]  # a message
    return message


def message_id(unique: str, public_url: str) -> str:
    """Return a permanent name of a letter: the same at each try, so that whoever gets it twice can tell."""
    host = urlsplit(public_url).hostname or "localhost"
    return f"<{unique}@{host if ':' not in host else 'localhost'}>"


def _mailbox(written: str) -> Address:
    name, address = parseaddr(written)
    return Address(name, addr_spec=address)


def _paragraph(block: Block) -> str:
    words = "<br>\n".join(escape(line) for line in block.words.splitlines())
    if block.is_picture:
        shown = f'<img src="cid:{PICTURE}" alt="{escape(block.words)}">'
        return f'<p><a href="{escape(block.link)}">{shown}</a></p>' if block.link else f"<p>{shown}</p>"
    return f'<p><a href="{escape(block.link)}">{words}</a></p>' if block.link else f"<p>{words}</p>"
