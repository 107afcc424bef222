"""Rules for templates and style sheets, each a function from one file's text to its breaches."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

Breach = tuple[int, str]
Rule = Callable[[str], Iterator[Breach]]

TEMPLATE_LINES = 80
SHEET_LINES = 150

INLINE = {
    "an inline style": r"\sstyle\s*=",
    "a style element": r"<style\b",
    "an inline script": r"<script(?![^>]*\bsrc\s*=)",
    "a script in an attribute": r"<[^>]*\son[a-z]+\s*=",
    "a script in an address": r"javascript:",
}
COLOURS = r"#[0-9a-f]{3,8}\b|\b(?:rgba?|hsla?|hwb|lab|lch|oklab|oklch|color)\("
NAMED_COLOURS = r"(?<![\w-])(?:black|white|gr[ae]y|red|green|blue|yellow|orange|purple|brown|silver|navy|teal|maroon)(?![\w-])"
LENGTHS = r"(?<![\w.-])-?(?:\d+\.?\d*|\.\d+)(?:px|rem|em|ch|ex|lh|rlh|pt|pc|cm|mm|in|q)\b"


def has_inline_parts(text: str) -> Iterator[Breach]:
    """The content security policy stops inline styles and scripts, so none is written."""
    plain = _without(r"\{#.*?#\}", text)
    for what, pattern in INLINE.items():
        yield from ((_line(plain, found.start()), what) for found in re.finditer(pattern, plain, re.IGNORECASE | re.DOTALL))


def asks_for_the_kind(text: str) -> Iterator[Breach]:
    """A template includes the file of a kind of question, it never asks which kind there is."""
    yield from (
        (_line(text, found.start()), "asks for the kind")
        for found in re.finditer(r"\{%-?\s*(?:el)?if[^%]*\bkind(?:\.key|_key)?\s*[!=]=", text)
    )


def escapes_nothing(text: str) -> Iterator[Breach]:
    """What a template shows is escaped."""
    pattern = r"\|\s*safe\b|\{%-?\s*autoescape\s+false"
    yield from ((_line(text, found.start()), "shows text unescaped") for found in re.finditer(pattern, text))


def outgrows_template(text: str) -> Iterator[Breach]:
    """A template has at most 80 lines."""
    if (lines := len(text.splitlines())) > TEMPLATE_LINES:
        yield 1, f"{lines} lines, {TEMPLATE_LINES} allowed"


def outgrows_sheet(text: str) -> Iterator[Breach]:
    """A style sheet has at most 150 lines."""
    if (lines := len(text.splitlines())) > SHEET_LINES:
        yield 1, f"{lines} lines, {SHEET_LINES} allowed"


def invents_values(text: str) -> Iterator[Breach]:
    """Colours and lengths stand in tokens.css alone; a media query and a printed page cannot read a token, so they may say a length."""
    plain = _without(r"/\*.*?\*/", text)
    plain = _without(r"@page[^{]*\{[^}]*\}", plain)
    plain = _without(r"@(?:media|container|supports)[^{]*", plain)
    plain = _without(r"url\([^)]*\)|\"[^\"\n]*\"|'[^'\n]*'", plain)
    for number, line in enumerate(plain.splitlines(), 1):
        value = line.partition(":")[2] if ":" in line else ""
        for what, pattern in (("a colour", COLOURS), ("a named colour", NAMED_COLOURS), ("a length", LENGTHS)):
            yield from ((number, f"{what}: {found.group()}") for found in re.finditer(pattern, value, re.IGNORECASE))


TEMPLATE_RULES: tuple[Rule, ...] = (has_inline_parts, asks_for_the_kind, escapes_nothing, outgrows_template)
SHEET_RULES: tuple[Rule, ...] = (outgrows_sheet, invents_values)


def _without(pattern: str, text: str) -> str:
    """Blank out what matches and keep the line numbers."""
    return re.sub(pattern, lambda found: re.sub(r"[^\n]", " ", found.group()), text, flags=re.DOTALL)


def _line(text: str, place: int) -> int:
    return text.count("\n", 0, place) + 1
