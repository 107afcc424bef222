"""What a picture is said to show, and which of several corrections is in force."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from drillhall.words import say

IMPORTED: Final = say("as the catalogue was brought in")
ACCEPTED: Final = say("when it was accepted")
_BY_THE_HALL: Final = {str(note): note for note in (IMPORTED, ACCEPTED)}


@dataclass(frozen=True, slots=True)
class Label:
    """What a picture is said to show: a form; or, with `form_id` None, one of two (`either`), or nothing that is said."""

    form_id: int | None = None
    either: tuple[int, int] | None = None

    def __post_init__(self) -> None:
        if self.either is not None and (self.form_id is not None or self.either[0] == self.either[1]):
            raise ValueError("a label is a form, or one of two that differ, not both")


def told_note(note: str) -> str:
    """Return why a label was corrected, told in the reader's language where the hall itself wrote it down."""
    return _BY_THE_HALL.get(note, note)


@dataclass(frozen=True, slots=True)
class LabelChange:
    """One correction of a picture's label; `undone`: it no longer counts."""

    before: Label
    after: Label
    undone: bool = False


def label_in_force(changes: Sequence[LabelChange]) -> Label:
    """Return the label that counts after some corrections: that of the latest not undone, else the one before them all.

    Parameters
    ----------
    changes : every correction of one picture, the earliest first; at least one.

    Raises
    ------
    ValueError: there is none.

    Source
    ------
    Our own rule: to undo a correction takes away what it said, and leaves what was said after it.

    >>> first = LabelChange(Label(1), Label(2))
    >>> label_in_force([first, LabelChange(Label(2), Label(3), undone=True)]).form_id
    2
    >>> label_in_force([LabelChange(Label(1), Label(2), undone=True)]).form_id
    1
    """
    if not changes:
        raise ValueError("no correction, so nothing to choose from")
    standing = [change.after for change in changes if not change.undone]
    return standing[-1] if standing else changes[0].before
