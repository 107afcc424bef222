"""Keeps what a TOML file says beyond our words in a JSON column, and gives it back as it was, days and odd numbers included."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import date, datetime, time
from typing import Any, Final

SORT: Final = "toml:"
_BACK: Final[Mapping[str, Callable[[str], Any]]] = {
    "datetime": datetime.fromisoformat,
    "date": date.fromisoformat,
    "time": time.fromisoformat,
    "float": float,
}


def to_json(value: Any) -> Any:
    """Return what TOML can say as what JSON can say; what JSON lacks becomes a table with one key that names its sort."""
    if isinstance(value, Mapping):
        inside = {key: to_json(item) for key, item in value.items()}
        return {f"{SORT}table": inside} if _is_tagged(inside) else inside
    if isinstance(value, list | tuple):
        return [to_json(item) for item in value]
    if isinstance(value, datetime | date | time):
        return {f"{SORT}{type(value).__name__}": value.isoformat()}
    if isinstance(value, float) and not math.isfinite(value):
        return {f"{SORT}float": str(value)}
    return value


def from_json(value: Any) -> Any:
    """Return what `to_json` was given."""
    if isinstance(value, list):
        return [from_json(item) for item in value]
    if not isinstance(value, dict):
        return value
    if not _is_tagged(value):
        return {key: from_json(item) for key, item in value.items()}
    ((sort, inside),) = value.items()
    if sort == f"{SORT}table":
        return {key: from_json(item) for key, item in inside.items()}
    return _BACK[sort.removeprefix(SORT)](inside)


def _is_tagged(value: Mapping[str, Any]) -> bool:
    return len(value) == 1 and next(iter(value)).startswith(SORT)
