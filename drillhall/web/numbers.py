"""Reads numbers as people type them, with a point or a comma before the fraction."""

from __future__ import annotations

import re
from typing import Final

from drillhall.errors import Invalid
from drillhall.words import say

_NUMBER: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,2})?", re.ASCII | re.IGNORECASE)


def read_number(typed: str, field: str) -> float:
    """Return a number that was typed, or raise Invalid naming the field.

    >>> read_number("38,5", "mean")
    38.5
    """
    plain = typed.strip().replace("\u2212", "-").replace(",", ".")
    if not _NUMBER.fullmatch(plain):
        raise Invalid(say("“{typed}” is no number. Write one such as 38.5.", typed=typed.strip()[:40]), field=field)
    return float(plain)
