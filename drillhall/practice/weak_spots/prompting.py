"""Reads what was seen of traits, and what was then said of the form: the trait behind a mix-up, and whether looking or knowing fails."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from sqlalchemy.orm import Session

from drillhall.core.confusion import Failing, Misses, Prompted, span_of, week_of, what_fails
from drillhall.core.kinds import form as form_kind
from drillhall.core.kinds import trait as trait_kind
from drillhall.core.prompts import trait_behind
from drillhall.core.traits import order_of_telling
from drillhall.core.values import PairLore
from drillhall.practice.weak_spots.seeing import Seen
from drillhall.practice.weak_spots.veiled import Veil, is_enough
from drillhall.store.queries import teacher as reading
from drillhall.words import Said, joined, say, within

MOST_PROMPTS: Final = 4000
"""So many answers are read at most, the latest: what was misread long ago explains little."""


@dataclass(frozen=True, slots=True)
class Behind:
    """What lies behind the mix-ups of a pair.

    trait: the one misread, empty where too little was asked or none stands out; misread: of how many asked; decides: what tells the pair
    by the catalogue, with its states; fails: looking or knowing; prompted: the counts behind that.
    """

    trait: str
    missed: int
    asked: int
    decides: str
    fails: Failing
    prompted: Prompted

    @property
    def says(self) -> Said:
        """The same in a sentence or two."""
        if self.trait:
            first = say(
                "Misread: {trait}, {missed} of {asked} times asked.", trait=within(self.trait), missed=self.missed, asked=self.asked
            )
        elif self.decides:
            first = say("What tells them: {decides}. No one trait stands out as misread so far.", decides=self.decides)
        else:
            first = say("No one trait stands out as misread so far.")
        return joined(" ", (first, FAILS[self.fails])) if self.fails is not Failing.TOO_FEW else first

    @property
    def in_short(self) -> Said:
        """The same in a few words, as for a table; empty where nothing is known."""
        fails = (FAILS_SHORT[self.fails],) if self.fails is not Failing.TOO_FEW else ()
        return joined("; ", (*((within(self.trait),) if self.trait else ()), *fails))


FAILS: Final[Mapping[Failing, Said]] = {
    Failing.LOOKING: say("Looking fails: where the form was missed, the trait had mostly been misread too. Look at it together, large."),
    Failing.KNOWING: say(
        "Knowing fails: the trait was mostly seen rightly and the form misnamed all the same. Say which form has which state."
    ),
    Failing.BOTH: say("Looking and knowing fail about alike: show the trait, and say which form has it."),
}
FAILS_SHORT: Final[Mapping[Failing, Said]] = {
    Failing.LOOKING: say("looking fails"),
    Failing.KNOWING: say("knowing fails"),
    Failing.BOTH: say("looking and knowing"),
}


@dataclass
class _Pair:
    """What the prompts about one pair came to: misses by trait, pictures with both questions."""

    missed: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    asked: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    prompted: Prompted = field(default_factory=Prompted)


def whats_behind(db: Session, seen: Seen, lores: Mapping[int, PairLore], *, veil: Veil | None = None) -> dict[int, Behind]:
    """Return what lies behind the mix-ups of some pairs, by pair; others than those seen by name as far as the veil lets through."""
    pairs = _read(db, seen, list(lores), veil)
    return {pair_id: _behind(lore, pairs.get(pair_id, _Pair())) for pair_id, lore in lores.items()}


def _read(db: Session, seen: Seen, pair_ids: Collection[int], veil: Veil | None) -> dict[int, _Pair]:
    since = {one.account_id: one.since for one in (*seen.named, *(seen.others if veil else ()))}
    rows = reading.prompts(db, list(since), pair_ids, limit=MOST_PROMPTS)
    showings: dict[tuple[int, int, int, int], list[Any]] = defaultdict(list)
    for row in rows:
        if row.at >= since[row.account_id] and row.form_id == row.ShowingRow.form_id:
            showings[row.pair_id, span_of(week_of(row.at.date())), row.account_id, row.ShowingRow.id].append(row)
    by_name = {one.account_id for one in seen.named}
    told = _tellable(list(showings), by_name, seen, veil, is_whole=len(rows) < MOST_PROMPTS) if veil else set()
    found: dict[int, _Pair] = defaultdict(_Pair)
    for (pair_id, span, account_id, _), asked in showings.items():
        if account_id in by_name or (pair_id, span) in told:
            _take(found[pair_id], asked)
    return found


def _tellable(
    keys: Collection[tuple[int, int, int, int]], by_name: Collection[int], seen: Seen, veil: Veil, *, is_whole: bool
) -> set[tuple[int, int]]:
    """Return in which four weeks those not seen by name are told of together, by pair; where not all was read, the first are not whole."""
    first = min((span for _, span, _, _ in keys), default=0)
    others: dict[tuple[int, int], set[int]] = defaultdict(set)
    for pair_id, span, account_id, _ in keys:
        if account_id not in by_name and (is_whole or span > first):
            others[pair_id, span].add(account_id)
    return {cell for cell, accounts in others.items() if not veil.hides(*cell) and is_enough(accounts, seen)}


def _take(pair: _Pair, rows: Collection[Any]) -> None:
    """Count one picture: whether its traits were seen rightly, and whether its form was named."""
    traits: list[bool] = []
    named: bool | None = None
    for row in rows:
        ask = row.ShowingRow.asks[row.ask]
        right = row.said == ask["key"]
        if ask["kind"] == trait_kind.KEY:
            traits.append(right)
            pair.asked[ask["trait"]] += 1
            pair.missed[ask["trait"]] += not right
        elif ask["kind"] == form_kind.KEY:
            named = right
    if named is not None and traits:
        saw = all(traits)
        pair.prompted += Prompted(saw and named, saw and not named, named and not saw, not saw and not named)


def _behind(lore: PairLore, pair: _Pair) -> Behind:
    told = order_of_telling(lore)
    misses = {key: Misses(pair.missed[key], asked) for key, asked in pair.asked.items()}
    found = trait_behind(told, misses)
    tells = next((one for one in told if one.parts_them), None)
    decides = joined("", (within(tells.trait.label), f" ({tells.first_state.label} / {tells.second_state.label})")) if tells else ""
    key = found.worth.trait.key if found else ""
    return Behind(
        trait=found.worth.trait.label if found else "",
        missed=pair.missed[key] if found else 0,
        asked=pair.asked[key] if found else 0,
        decides=decides,
        fails=what_fails(pair.prompted),
        prompted=pair.prompted,
    )
