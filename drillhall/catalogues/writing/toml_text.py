"""Writes TOML 1.0 in one way for one content, so that two exports differ only where their content does."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from datetime import date, datetime, time
from typing import Any, Final

BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
ESCAPES: Final = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r"}


def toml_text(content: Mapping[str, Any], *, inline: frozenset[str] = frozenset()) -> str:
    """Return a table as TOML: plain values first, then its tables under headers of their own.

    `inline` names, by paths joined with dots, lists of tables that are written a table in a line, and tables within which
    nothing gets a header of its own.
    """
    return "\n".join(_lines(content, "", inline)).strip("\n") + "\n" if content else ""


def _lines(content: Mapping[str, Any], path: str, inline: frozenset[str]) -> Iterator[str]:
    """Yield a table's lines; `path` is its own, each key quoted as it must be, empty for the file's."""
    under_headers = []
    for key, value in content.items():
        name = f"{path}.{_key(key)}" if path else _key(key)
        if path not in inline and (isinstance(value, Mapping) or (_holds(value, Mapping) and name not in inline)):
            under_headers.append((name, value))
        else:
            yield f"{_key(key)} = {_rows(value) if _holds(value, Mapping) or _holds(value, list) else _value(value)}"
    for name, value in under_headers:
        for table in [value] if isinstance(value, Mapping) else value:
            yield ""
            yield f"[{name}]" if isinstance(value, Mapping) else f"[[{name}]]"
            yield from _lines(table, name, inline)


def _holds(value: Any, sort: type) -> bool:
    return isinstance(value, list | tuple) and bool(value) and all(isinstance(item, sort) for item in value)


def _rows(items: list[Any]) -> str:
    """Return tables or lists as a list, one in a line; TOML lets a list run over lines, and a table within it not."""
    return "[\n" + "".join(f"  {_value(item)},\n" for item in items) + "]"


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, Mapping):
        inside = ", ".join(f"{_key(key)} = {_value(item)}" for key, item in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    raise TypeError(f"TOML has no {type(value).__name__}")


def _number(value: float) -> str:
    if math.isnan(value) or math.isinf(value):
        return str(value)
    text = repr(value)
    return text if any(sign in text for sign in ".en") else f"{text}.0"


def _text(text: str) -> str:
    return '"' + "".join(ESCAPES.get(sign) or (sign if sign >= " " and sign != "\x7f" else f"\\u{ord(sign):04x}") for sign in text) + '"'


def _key(key: str) -> str:
    return key if BARE_KEY.fullmatch(key) else _text(key)
