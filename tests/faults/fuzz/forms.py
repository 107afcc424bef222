"""Reads the forms of a page as a browser does, and fills them in as somebody might who means it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from html.parser import HTMLParser
from random import Random
from typing import Final

PLAIN: Final = frozenset({"text", "search", "hidden", "password", "email", "number", "date", "url", "tel", "range", "color", "textarea"})
TICKED: Final = frozenset({"radio", "checkbox"})
NAMELESS: Final = frozenset({"reset", "image"})


@dataclass
class Field:
    """One field: `options` are the values that it may send, `chosen` those that it sends as it stands."""

    name: str
    kind: str
    options: list[str] = field(default_factory=list)
    chosen: list[str] = field(default_factory=list)
    least: str = ""
    most: str = ""
    is_needed: bool = False


@dataclass
class Form:
    """One form of a page."""

    action: str
    method: str
    has_files: bool
    fields: list[Field] = field(default_factory=list)


class _Reader(HTMLParser):
    def __init__(self, path: str) -> None:
        super().__init__()
        self.path, self.forms, self.links = path, list[Form](), list[str]()
        self._by_id: dict[str, Form] = {}
        self._loose: list[tuple[str, Field]] = []
        self._form: Form | None = None
        self._open: Field | None = None
        self._text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag == "a":
            self.links.append(said.get("href", ""))
        elif tag == "form":
            has_files = "multipart" in said.get("enctype", "")
            self._form = Form(said.get("action") or self.path, said.get("method", "get").upper(), has_files)
            self.forms.append(self._form)
            self._by_id[said.get("id", "")] = self._form
        elif tag in {"input", "button"}:
            self._take(said, said.get("type", "text" if tag == "input" else "submit"))
        elif tag in {"select", "textarea"}:
            self._open, self._text = Field(said.get("name", ""), tag, is_needed="required" in said), ""
            self._put(said, self._open)
        elif tag == "option" and self._open is not None and "disabled" not in said:
            self._open.options.append(said.get("value", ""))
            self._open.chosen += [said.get("value", "")] if "selected" in said else []

    def handle_data(self, data: str) -> None:
        self._text += data if self._open is not None else ""

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        elif tag == "textarea" and self._open is not None:
            self._open.chosen = [self._text.removeprefix("\n")]
        if tag in {"textarea", "select"} and self._open is not None:
            self._open.chosen = self._open.chosen or self._open.options[:1]
            self._open = None

    def _take(self, said: dict[str, str], kind: str) -> None:
        name, value = said.get("name", ""), said.get("value", "on" if kind in TICKED else "")
        if kind in NAMELESS or not name:
            return
        form = self._by_id.get(said["form"]) if "form" in said else self._form
        same = next((one for one in form.fields if one.name == name and one.kind == kind), None) if form and kind == "radio" else None
        found = same or Field(name, kind, least=said.get("min", ""), most=said.get("max", ""), is_needed="required" in said)
        found.options.append(value)
        found.chosen += [value] if kind not in TICKED or "checked" in said else []
        if same is None:
            self._put(said, found)

    def _put(self, said: dict[str, str], found: Field) -> None:
        if "form" in said:
            self._loose.append((said["form"], found))
        elif self._form is not None:
            self._form.fields.append(found)

    def close(self) -> None:
        super().close()
        for form_id, found in self._loose:
            if form_id in self._by_id:
                self._by_id[form_id].fields.append(found)


def read_page(path: str, page: str) -> tuple[list[Form], list[str]]:
    """Return the forms of a page, and where its links lead."""
    reader = _Reader(path)
    reader.feed(page)
    reader.close()
    return reader.forms, reader.links


@dataclass(frozen=True)
class Knows:
    """What somebody who fills in a form knows: her name and passphrase, the day, and what else fields of some name want."""

    name: str
    passphrase: str
    today: date
    words: dict[str, tuple[str, ...]]


def fill(form: Form, knows: Knows, dice: Random) -> list[tuple[str, str]]:
    """Fill a form in so that it may well be taken: mostly as it stands, what is empty and needed by what the field is."""
    filled, buttons = [], [one for one in form.fields if one.kind == "submit"]
    pressed = dice.choice(buttons) if buttons else None
    for one in form.fields:
        if one.kind in {"file", "submit"} and one is not pressed:
            continue
        filled += [(one.name, value) for value in _values(one, knows, dice)]
    return filled


def _values(one: Field, knows: Knows, dice: Random) -> list[str]:
    if one.kind == "submit":
        return one.options
    if one.kind == "checkbox":
        return one.chosen if dice.random() < 0.5 and not one.is_needed else one.options
    if one.options and one.kind in {"radio", "select"}:
        keeps = one.chosen and one.chosen != [""] and dice.random() < 0.6
        return one.chosen if keeps else [dice.choice([value for value in one.options if value] or one.options)]
    if one.kind == "hidden" or (one.chosen and one.chosen[0] and dice.random() < 0.6):
        return one.chosen
    if not one.is_needed and dice.random() < 0.4:
        return one.chosen or [""]
    return [_typed(one, knows, dice)]


def _typed(one: Field, knows: Knows, dice: Random) -> str:
    if one.name in knows.words:
        return dice.choice(knows.words[one.name])
    if one.kind == "password":
        return knows.passphrase
    if one.kind == "date":
        return (knows.today + timedelta(days=dice.randint(-3, 30))).isoformat()
    if one.kind in {"number", "range"}:
        least, most = float(one.least or 0), float(one.most or 20)
        return str(dice.randint(int(least), max(int(least), int(most))))
    if one.kind == "email":
        return f"heron{dice.randint(1, 99)}@mail.example"
    return dice.choice((f"Reed {dice.randint(1, 99)}", "2031-W10", "12", knows.name, "0.5", "a word or two of the tide"))
