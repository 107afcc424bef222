"""Reads forms.toml: each form's measures, colours and pattern, filled up from what it is like and from the defaults."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

Words = dict[str, Any]


def overlay(under: Words, over: Words) -> Words:
    """Return two tables laid over each other, the second one winning, table by table."""
    out = dict(under)
    for key, value in over.items():
        out[key] = overlay(out.get(key, {}), value) if isinstance(value, dict) else value
    return out


@cache
def book() -> Words:
    """Read the whole file."""
    return tomllib.loads(files("drillhall.demo").joinpath("forms.toml").read_text(encoding="utf-8"))


@cache
def form(key: str) -> Words:
    """Return one form with everything filled in."""
    own = book()["form"][key]
    below = form(own["like"]) if "like" in own else book()["default"]
    return overlay(below, own)


def list_keys() -> list[str]:
    """Return the keys of all forms, in the order of the file."""
    return list(book()["form"])
