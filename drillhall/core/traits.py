"""What a trait tells about a pair: chances of its states, information in bits, the order of telling, what decides, what misleads."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Protocol, TypeVar

from drillhall.core.terms import CHANCE_WORDS
from drillhall.core.values import Chances, PairLore, State, Trait, TraitKind
from drillhall.errors import Invalid
from drillhall.words import joined, say

LEAST_UNSAID: Final = 0.02
"""A state that the author left unsaid keeps at least this chance: nobody has looked at every bird."""

LEAST_IN_ALL: Final = 0.5
MOST_IN_ALL: Final = 1.5
"""Chances of one trait that come to less or more than this in all were not meant as they were written."""

DECIDES_BITS: Final = 0.5
"""From here on a trait decides. A trait of two states that is as good for either form reaches half a bit where a guess by it alone
is right in 89 of 100 cases; with less, one bird in nine or more is called wrong, and the trait only helps."""

TELLS_BITS: Final = 0.05
"""Below this a trait is not worth telling: a guess by it alone is right in 63 of 100 cases at most, hardly better than a coin."""

LIKE_BITS: Final = 0.1
"""Traits within this of the best one left are of like worth, and told by their kind."""

_ROUNDING: Final = 1e-9
_PLACES: Final = {kind: place for place, kind in enumerate(TraitKind)}


@dataclass(frozen=True, slots=True)
class TraitWorth:
    """What one trait is worth for telling a pair.

    bits: expected information at equal odds, 0 to 1; right_rate: how often a guess by this trait alone is right at equal odds,
    0.5 to 1; first_state, second_state: the likeliest state of either form; decides: it is enough by itself;
    misleads: forms beside the pair share its state, `third_ids`; hard_to_see: its colours look alike to whoever it is told to.
    """

    trait: Trait
    bits: float
    right_rate: float
    first_state: State
    second_state: State
    decides: bool
    misleads: bool
    third_ids: tuple[int, ...]
    hard_to_see: bool = False

    @property
    def parts_them(self) -> bool:
        """Whether the two forms usually show different states."""
        return self.first_state.key != self.second_state.key


def chance_of_word(word: str) -> float:
    """Return the chance that an author's word stands for.

    Raises
    ------
    Invalid : the word is none of the six

    Examples
    --------
    >>> chance_of_word("usually")
    0.85
    """
    try:
        return CHANCE_WORDS[word]
    except KeyError:
        raise Invalid(
            say('"{word}" is no word for how often a state is seen: use one of {choices}.', word=word, choices=", ".join(CHANCE_WORDS)),
            field="chance",
        ) from None


def chance_of_count(shown: int, of: int) -> float:
    """Return the chance of a state that `shown` of `of` specimens had, never quite 0 or 1.

    Source
    ------
    Jeffreys prior for a proportion: (k + 1/2) / (n + 1); H. Jeffreys, Theory of Probability, 1961.

    Raises
    ------
    Invalid : counts that cannot be

    Examples
    --------
    >>> chance_of_count(18, 20)
    0.8809523809523809
    """
    if of < 1 or not 0 <= shown <= of:
        raise Invalid(
            say(
                "{shown} of {of} is no count of specimens: the first number is 0 to the second, the second at least 1.", shown=shown, of=of
            ),
            field="chance",
        )
    return (shown + 0.5) / (of + 1)


def fill_chances(said: Mapping[str, float], states: Sequence[str]) -> dict[str, float]:
    """Complete what an author said of a form's trait to chances over all its states, which sum to 1.

    States left unsaid share what is left, with at least 0.02 each; then all are scaled.

    Parameters
    ----------
    said : state key → chance, 0 to 1, for at least one state
    states : the keys of all states of the trait, in the author's order

    Returns
    -------
    dict of state key → chance, in the order of `states`

    Raises
    ------
    Invalid : an unknown state, a chance out of 0..1, nothing said, or less than 0.5 or more than 1.5 in all

    Examples
    --------
    >>> fill_chances({"pale": 0.85}, ["pale", "dark"])
    {'pale': 0.85, 'dark': 0.15000000000000002}
    """
    for state, chance in said.items():
        if state not in states:
            raise Invalid(
                say('"{state}" is no state of this trait: its states are {choices}.', state=state, choices=", ".join(states)), field=state
            )
        if not 0 <= chance <= 1:
            raise Invalid(say('The chance of "{state}" is {chance:g}: it must be from 0 to 1.', state=state, chance=chance), field=state)
    if not said:
        raise Invalid(
            say(
                "Nothing is said of this trait: name at least one of its states ({choices}), or leave the trait out.",
                choices=", ".join(states),
            )
        )
    unsaid = [state for state in states if state not in said]
    share = max((1 - sum(said.values())) / len(unsaid), LEAST_UNSAID) if unsaid else 0.0
    chances = {state: said.get(state, share) for state in states}
    in_all = sum(chances.values())
    if not LEAST_IN_ALL - _ROUNDING <= in_all <= MOST_IN_ALL + _ROUNDING:
        words = ", ".join(f"{state} {chance:g}" for state, chance in said.items())
        come = say(
            "The chances of this trait come to {in_all:.2f} in all ({words}): they should come to about 1.", in_all=in_all, words=words
        )
        more = say("Say less for some of its states.") if in_all > 1 else say("Say more for some of its states.")
        raise Invalid(joined(" ", (come, more)), field=next(iter(said)))
    return {state: chance / in_all for state, chance in chances.items()}


def information_bits(first: Chances, second: Chances, *, first_prior: float = 0.5) -> float:
    """Return the information that seeing this trait is expected to give about which of two forms it is, in bits.

    Parameters
    ----------
    first, second : state key → chance, each summing to 1; a state that is absent has chance 0
    first_prior : chance of the first form before looking, 0 to 1; equal odds by default

    Returns
    -------
    float, 0 (tells nothing) to 1 (settles it)

    Source
    ------
    Mutual information: C. E. Shannon, A Mathematical Theory of Communication, 1948, section 12; at equal odds the Jensen-Shannon
    divergence of J. Lin, 1991, eq. 3.1, with logarithms to base 2.

    Examples
    --------
    >>> round(information_bits({"over": 0.92, "under": 0.08}, {"over": 0.04, "under": 0.96}), 4)
    0.6766
    """
    bits = 0.0
    for state in {**first, **second}:
        in_first, in_second = first.get(state, 0.0), second.get(state, 0.0)
        over_both = first_prior * in_first + (1 - first_prior) * in_second
        for prior, chance in ((first_prior, in_first), (1 - first_prior, in_second)):
            if prior * chance > 0:
                bits += prior * chance * math.log2(chance / over_both)
    return min(max(bits, 0.0), 1.0)


def right_rate(first: Chances, second: Chances) -> float:
    """Return how often the best guess by this trait alone is right, at equal odds: 0.5 (no better than a coin) to 1.

    Source
    ------
    Half the sum over states of the larger chance: the Bayes rule for two classes, R. O. Duda and P. E. Hart, 1973, chapter 2.

    Examples
    --------
    >>> round(right_rate({"over": 0.92, "under": 0.08}, {"over": 0.04, "under": 0.96}), 2)
    0.94
    """
    return sum(max(first.get(state, 0.0), second.get(state, 0.0)) for state in {**first, **second}) / 2


def likeliest(trait: Trait, chances: Chances) -> State:
    """Return the state that a form most often shows; of equals, the one the author named first."""
    return max(trait.states, key=lambda state: chances.get(state.key, 0.0))


def order_of_telling(lore: PairLore) -> tuple[TraitWorth, ...]:
    """Return the traits that both forms have a say on, the one to tell first in front.

    The most informative comes first; traits within 0.1 bit of the best one left are told by kind: structure, size, pattern,
    behaviour, colour. What whoever it is told to cannot see comes behind all that she can.
    """
    if not lore.in_order:
        lore.in_order.append(in_order_of_telling([worth for trait in lore.traits if (worth := _worth(lore, trait))]))
    told: tuple[TraitWorth, ...] = lore.in_order[0]
    return told


class _Telling(Protocol):
    """What can stand in an order of telling."""

    @property
    def trait(self) -> Trait: ...
    @property
    def bits(self) -> float: ...
    @property
    def hard_to_see(self) -> bool: ...


_Worth = TypeVar("_Worth", bound=_Telling)


def in_order_of_telling(worths: Sequence[_Worth]) -> tuple[_Worth, ...]:
    """Return what traits are worth, the one to tell first in front, as `order_of_telling` does."""
    left = sorted(worths, key=lambda worth: -worth.bits)
    told: list[_Worth] = []
    while left:
        like = [worth for worth in left if worth.bits >= left[0].bits - LIKE_BITS - _ROUNDING]
        first = min(like, key=lambda worth: _PLACES[worth.trait.kind])
        told.append(first)
        left.remove(first)
    return tuple(sorted(told, key=lambda worth: worth.hard_to_see))


def deciding(lore: PairLore, shows: frozenset[str] | None = None) -> TraitWorth | None:
    """Return the trait to explain a picture by: the first worth telling that can be seen on it, or None.

    Parameters
    ----------
    lore : what the catalogue says of the pair
    shows : keys of the traits that can be seen, or None where nobody has said and all are taken to be
    """
    for worth in order_of_telling(lore):
        if worth.parts_them and worth.bits >= TELLS_BITS and (shows is None or worth.trait.key in shows):
            return worth
    return None


def misleading(lore: PairLore) -> tuple[TraitWorth, ...]:
    """Return the traits whose state a third form shares, in the order of telling."""
    return tuple(worth for worth in order_of_telling(lore) if worth.misleads)


def _worth(lore: PairLore, trait: Trait) -> TraitWorth | None:
    first = lore.chances.get(lore.pair.first.id, {}).get(trait.key)
    second = lore.chances.get(lore.pair.second.id, {}).get(trait.key)
    if not first or not second:
        return None
    bits, rate = information_bits(first, second), right_rate(first, second)
    states = likeliest(trait, first), likeliest(trait, second)
    decides = bits >= DECIDES_BITS and states[0].key != states[1].key
    third_ids = tuple(third.form_id for third in lore.thirds if third.trait == trait.key)
    return TraitWorth(trait, bits, rate, *states, decides, bool(third_ids), third_ids, trait.key in lore.hard_to_see)
