"""By which form an answered showing is judged: the one that its picture is said to show now, not the one it was planned as."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from drillhall.core.joining import asks_nothing, renamed_ask
from drillhall.core.kinds import form
from drillhall.core.values import NEITHER, Ask
from drillhall.practice.asks import ask_of
from drillhall.store.models.practice import ShowingRow


@dataclass(frozen=True, slots=True)
class Judged:
    """What a showing counts as: the form shown, the key as it was asked, and whether it is none of the pair."""

    form_id: int
    key: str
    third: bool


class Shown(Protocol):
    """What of a showing it is judged by beside its questions, be it a row or some columns of it."""

    @property
    def renamed(self) -> Mapping[str, str] | None:
        """Which forms stand for others since concepts were joined."""

    @property
    def form_id(self) -> int:
        """The form it was planned as."""

    @property
    def third(self) -> bool:
        """Whether it was planned as none of the pair."""


def judged(showing: ShowingRow, form_id: int | None) -> Judged | None:
    """Return what a showing counts as by the form in force of its picture, or None where it counts for nothing."""
    return judged_asks([ask_of(stored) for stored in showing.asks], showing, form_id)


def judged_asks(asks: Iterable[Ask], showing: Shown, form_id: int | None) -> Judged | None:
    """Return the same of a showing whose questions are told apart from it."""
    ask = next((one for one in asks if one.kind == form.KEY), None)
    told = renamed_ask(ask, showing.renamed or {}) if ask is not None else None
    if ask is None or told is None or asks_nothing(told):
        return None
    if form_id == showing.form_id:
        return Judged(showing.form_id, ask.key, showing.third)
    key = form.key_in_force(told, form_id)
    if key is None or form_id is None:
        return None
    return Judged(form_id, ask.choices[told.choices.index(key)], key == str(NEITHER))


def told_ask(showing: ShowingRow, place: int) -> Ask:
    """Return a question of a showing with the forms that stand now for those it was asked with, where concepts were joined since."""
    return renamed_ask(ask_of(showing.asks[place]), showing.renamed or {})


def form_said(showing: Shown, said: str) -> int:
    """Return the id of the form that an answer named, or of the one that stands for it now; NEITHER for neither."""
    return int((showing.renamed or {}).get(said, said))
