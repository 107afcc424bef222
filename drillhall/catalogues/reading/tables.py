"""Takes values out of a TOML table one by one, notes every one of the wrong sort, and hands over what is left unread."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from math import inf
from typing import Any, Final

from drillhall.catalogues.folder import Fault
from drillhall.catalogues.places import line_of
from drillhall.words import Said, joined, say

MAX_DEPTH: Final = 20
"""How deep tables may stand in one another; our own words need four."""
_SORTS: Final = {
    str: say("{key} must be a text in quotes."),
    bool: say("{key} must be true or false."),
    int: say("{key} must be a whole number."),
    float: say("{key} must be a number."),
    list: say("{key} must be a list."),
    dict: say("{key} must be a table."),
}


def decode(raw: bytes, name: str, faults: list[Fault]) -> str | None:
    """Return a text file's text, with or without a byte order mark; None, and a fault, where it is not UTF-8."""
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        faults.append(Fault(line_of(name, line), say("It is not written in UTF-8."), say("Save the file with the encoding UTF-8.")))
        return None


def parse(raw: bytes, name: str, faults: list[Fault]) -> dict[str, Any] | None:
    """Return a TOML file's content; None, and a fault naming the line, where it cannot be read."""
    text = decode(raw, name, faults)
    if text is None:
        return None
    deep = Fault(name, say("Its tables stand more than {most} deep in one another.", most=MAX_DEPTH), say("Write them flatter."))
    try:
        content = tomllib.loads(text)
    except ValueError as error:  # TOMLDecodeError is one; so is a number of too many digits
        faults.append(Fault(name, say("It is not right TOML: {error}.", error=error), say("Mend that line.")))
        return None
    except RecursionError:
        faults.append(deep)
        return None
    if _depth(content) > MAX_DEPTH:
        faults.append(deep)
        return None
    return content


class Table:
    """One TOML table under reading; `where` names it in a fault, and every fault goes into the one list `faults`."""

    def __init__(self, content: dict[str, Any], where: str, faults: list[Fault]) -> None:
        self._left = dict(content)
        self._wrong: set[str] = set()
        self.where = where
        self.faults = faults

    def text(self, key: str, *, default: str = "", needed: bool = False, longest: int = 200) -> str:
        """Take a text; a needed one must be there and not empty."""
        said = self._take(key, str)
        value: str = default if said is None else said.strip()
        if needed and not value and key not in self._wrong:
            self._wrong.add(key)
            self.fault(say("{key} is missing.", key=key), say('Write {key} = "...".', key=key))
        if len(value) > longest:
            self.fault(say("{key} has {count} characters.", key=key, count=len(value)), say("Make it at most {longest}.", longest=longest))
        return value

    def flag(self, key: str, *, default: bool) -> bool:
        """Take true or false."""
        said = self._take(key, bool)
        return default if said is None else bool(said)

    def whole(self, key: str) -> int | None:
        """Take a whole number, or None where there is none."""
        said: int | None = self._take(key, int)
        return said

    def number(self, key: str, *, default: float) -> float:
        """Take a number; a whole one beyond all fractions counts as infinite."""
        said = self._take(key, float)
        try:
            return default if said is None else float(said)
        except OverflowError:
            return inf

    def texts(self, key: str) -> tuple[str, ...]:
        """Take a list of texts."""
        said = self._take(key, list) or []
        if not all(isinstance(item, str) for item in said):
            self.fault(say("{key} holds something that is no text.", key=key), say('Write it as ["...", "..."].'))
            return ()
        return tuple(item.strip() for item in said)

    def items(self, key: str) -> list[Any]:
        """Take a list of anything."""
        return list(self._take(key, list) or [])

    def table(self, key: str) -> dict[str, Any]:
        """Take a table as it is."""
        return dict(self._take(key, dict) or {})

    def tables(self, key: str, named: Said) -> Iterator[Table]:
        """Take a list of tables, each to be read in its turn; `named` is what one of them is called in a fault."""
        for number, item in enumerate(self._take(key, list) or [], start=1):
            if isinstance(item, dict):
                said = item.get("key", item.get("title"))
                name = joined(" ", (named, said if isinstance(said, str) and said else say("number {number}", number=number)))
                yield Table(item, joined(", ", (self.where, name)), self.faults)
            else:
                self.fault(say("{key} holds something that is no table.", key=key), say("Write each of them as a table."))

    def left(self) -> dict[str, Any]:
        """Return what nobody has taken."""
        return dict(self._left)

    def nothing_left(self) -> None:
        """Note whatever nobody has taken as a fault, where there is no place to keep it."""
        for key in self._left:
            self.fault(say("It does not know {key}.", key=key), say("Take it out."))

    def fault(self, wrong: str, mend: str) -> None:
        """Note a fault of this table."""
        self.faults.append(Fault(self.where, wrong, mend))

    def _take(self, key: str, sort: type) -> Any:
        said = self._left.pop(key, None)
        fits = isinstance(said, sort) or (sort is float and isinstance(said, int))
        if said is not None and (not fits or (isinstance(said, bool) and sort is not bool)):
            self._wrong.add(key)
            self.fault(_SORTS[sort].filled(key=key), say("Write it so."))
            return None
        return said


def _depth(content: Any) -> int:
    deepest, layer = 0, [content]
    while layer and deepest <= MAX_DEPTH:
        deepest += 1
        layer = [inner for item in layer for inner in (item.values() if isinstance(item, dict) else item) if isinstance(inner, dict | list)]
    return deepest
