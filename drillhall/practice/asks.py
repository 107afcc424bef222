"""Turns a question into what a showing's row keeps of it, and back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from drillhall.core.values import Ask


def stored_ask(ask: Ask) -> dict[str, Any]:
    """Return a question as it is kept."""
    return {"kind": ask.kind, "choices": list(ask.choices), "key": ask.key, "trait": ask.trait}


def ask_of(stored: Mapping[str, Any]) -> Ask:
    """Return a kept question as a plain value."""
    return Ask(kind=stored["kind"], choices=tuple(stored["choices"]), key=stored["key"], trait=stored["trait"])
