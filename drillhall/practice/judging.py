"""By which form an answered showing is judged: the one that its picture is said to show now, not the one it was planned as."""

from __future__ import annotations

from dataclasses import dataclass

from drillhall.core.kinds import form
from drillhall.core.values import NEITHER
from drillhall.practice.asks import ask_of
from drillhall.store.models.practice import ShowingRow


@dataclass(frozen=True, slots=True)
class Judged:
    """What a showing counts as: the form shown, what was right to say of it, and whether it is none of the pair."""

    form_id: int
    key: str
    third: bool


def judged(showing: ShowingRow, form_id: int | None) -> Judged | None:
    """Return what a showing counts as by the form in force of its picture, or None where it counts for nothing."""
    ask = next((ask_of(stored) for stored in showing.asks if stored["kind"] == form.KEY), None)
    if ask is None:
        return None
    if form_id == showing.form_id:
        return Judged(showing.form_id, ask.key, showing.third)
    key = form.key_in_force(ask, form_id)
    return None if key is None or form_id is None else Judged(form_id, key, key == str(NEITHER))
