"""What a specimen is: one macro of one file of parts, in one state."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Specimen:
    """A macro in a state, with what it is called with; both are named in English, as in the code, whoever reads.

    `body` is what a macro that holds other parts is given; `within` is what it lies in where it cannot lie on a page by itself:
    "picture", "over" (upon a picture), "room", "svg", "facing" or "plot"; "text" shows what it writes into other parts.
    """

    file: str
    macro: str
    state: str
    args: tuple[Any, ...] = ()
    named: dict[str, Any] = field(default_factory=dict)
    body: str = ""
    within: str = ""
