"""Describes a bird in words, for whoever cannot see its picture: which traits are told, and which pairs come next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from drillhall.core.grading import grade_round
from drillhall.core.memory import DEFAULT_TARGET, USUAL_PARAMETERS, Parameters, due_day, fold_rounds
from drillhall.core.reading import read
from drillhall.core.traits import TELLS_BITS, TraitWorth, order_of_telling
from drillhall.core.values import GivenAnswer, Memory, Outcome, PairLore, RatedRound, Sure

if TYPE_CHECKING:
    from random import Random

MOST_TRAITS: Final = 3
"""So many traits are told of one bird at most: what is heard must be kept in mind."""

CLEAR_FROM: Final = 0.80
"""A description is asked only where its traits make the form at least this likely; our own choice."""

DESCRIPTIONS: Final = 3
"""Birds of one pair in one drill: a round, as the scheduler rates it."""

MOST_PAIRS: Final = 5
"""Fifteen birds take about five minutes to hear and to answer."""

LEAST_TOLD: Final = 0.05
"""A state that a form shows less often than this is not told of it: what nobody has written down is kept at so little."""

_TRIES: Final = 30

Told = tuple[tuple[str, str], ...]
"""What is told of a bird: (trait key, state key), in the order of the catalogue, so that the order gives nothing away."""


@dataclass(frozen=True, slots=True)
class Speaks:
    """What one trait told says: of a hundred of either form so many show this state."""

    trait: str
    state: str
    first_in_100: int
    second_in_100: int


@dataclass(frozen=True, slots=True)
class WordRound:
    """The birds of one pair in one drill in words: on which day, how many were answered, missed, and said to be only possible."""

    pair_id: int
    day: date
    answered: int
    missed: int
    possible: int


def can_be_told(lore: PairLore) -> bool:
    """Say whether words can tell a pair at all: its likeliest states together make either form clear.

    Whoever does not see colours may well be told of them, so no trait is left out for being hard to see.
    """
    return all(_is_clear(lore, form.id, _likeliest(lore, form.id)) for form in (lore.pair.first, lore.pair.second))


def describe(lore: PairLore, form_id: int, *, dice: Random) -> Told:
    """Describe one bird of a form: up to three of the traits that part the pair, each in a state thrown by the form's own chances.

    Parameters
    ----------
    lore : what the catalogue says of the pair; it `can_be_told`.
    form_id : one of the pair's two forms.
    dice : the same dice describe the same bird.

    Returns
    -------
    tuple of (trait key, state key): such that by Bayes' rule at equal odds the form is at least 0.80 likely. So now and then a state
    is told that the other form shows more often, as in the field, but the whole never misleads.

    Raises
    ------
    ValueError: the pair cannot be told in words.
    """
    usual = _likeliest(lore, form_id)
    if not _is_clear(lore, form_id, usual):
        raise ValueError(f"no description makes form {form_id} clear")
    traits = [worth.trait.key for worth in _telling(lore)]
    for _ in range(_TRIES):
        some = set(dice.sample(traits, min(MOST_TRAITS, len(traits))))
        told = tuple((key, _thrown(lore.chances[form_id][key], dice)) for key in _in_order(lore, some))
        if _is_clear(lore, form_id, told):
            return told
    return usual


def what_it_says(lore: PairLore, told: Sequence[tuple[str, str]]) -> tuple[Speaks, ...]:
    """Say what each trait told of a bird says about the pair, the one that says most first; what is no longer known is left out."""
    first, second = (lore.chances.get(form.id, {}) for form in (lore.pair.first, lore.pair.second))
    known = [(key, state) for key, state in told if state in first.get(key, {}) and state in second.get(key, {})]
    said = [Speaks(key, state, round(100 * first[key][state]), round(100 * second[key][state])) for key, state in known]
    return tuple(sorted(said, key=lambda one: -abs(one.first_in_100 - one.second_in_100)))


def memories_in_words(rounds: Sequence[WordRound], *, parameters: Parameters = USUAL_PARAMETERS) -> dict[int, Memory]:
    """Fold rounds in words into a memory a pair, by the rules by which rounds of pictures are folded; of one day the first counts.

    A round is held where all was right; with more than half of it only possible it was held unsure. Nobody is timed.

    >>> memories_in_words([WordRound(7, date(2030, 5, 1), 3, 0, 0)])[7].rounds
    1
    """
    by_pair: dict[int, dict[date, WordRound]] = {}
    for one in rounds:
        if one.missed or one.answered >= DESCRIPTIONS:
            by_pair.setdefault(one.pair_id, {}).setdefault(one.day, one)
    folded = {}
    for pair_id, days in by_pair.items():
        rated = [RatedRound(day, outcome) for day, one in sorted(days.items()) if (outcome := _outcome(one))]
        memory = fold_rounds(rated, parameters=parameters)
        if memory is not None:
            folded[pair_id] = memory
    return folded


def met_on(rounds: Sequence[WordRound], day: date) -> int:
    """Return how many pairs were met in words on a day: of their rounds, told in the order in which they were begun, the first was then.

    >>> met_on([WordRound(7, date(2030, 5, 1), 3, 0, 0), WordRound(7, date(2030, 5, 2), 3, 0, 0)], date(2030, 5, 2))
    0
    """
    first = {one.pair_id: one.day for one in reversed(rounds)}
    return sum(met == day for met in first.values())


def choose_pairs(
    pair_ids: Sequence[int],
    memories: Mapping[int, Memory],
    *,
    today: date,
    account_id: int,
    target: float = DEFAULT_TARGET,
    parameters: Parameters = USUAL_PARAMETERS,
    new: int,
) -> tuple[int, ...]:
    """Return the pairs of a drill in words: those due, the longest overdue first, then new ones in the set's order; at most five.

    Where neither is left those that fall due next are taken, so that a drill can always be had.

    Parameters
    ----------
    pair_ids : all pairs that can be told, in the order in which they are to be met.
    memories : pair id to memory in words; one that is absent is new.
    parameters : those by which the memories were folded.
    new : how many new ones at most.

    >>> choose_pairs([4, 5, 6], {}, today=date(2030, 5, 1), account_id=1, new=2)
    (4, 5)
    """
    dues = {
        one: due_day(memories[one], target_recall=target, account_id=account_id, pair_id=one, parameters=parameters)
        for one in pair_ids
        if one in memories
    }
    ordered = sorted(dues, key=lambda one: (dues[one], one))
    due = [one for one in ordered if dues[one] <= today]
    chosen = [*due, *[one for one in pair_ids if one not in memories][:new]]
    return tuple((chosen or ordered or list(pair_ids))[:MOST_PAIRS])


def _outcome(one: WordRound) -> Outcome | None:
    sures = [Sure.POSSIBLE] * one.possible + [Sure.PROBABLE] * (one.answered - one.possible)
    given = [GivenAnswer(place >= one.missed, sure, 0.0) for place, sure in enumerate(sures)]
    return grade_round(given, showings=max(DESCRIPTIONS, one.answered), pace_seconds=None, before=None)


def _telling(lore: PairLore) -> list[TraitWorth]:
    return [worth for worth in order_of_telling(lore) if worth.parts_them and worth.bits >= TELLS_BITS]


def _in_order(lore: PairLore, keys: set[str]) -> list[str]:
    return [trait.key for trait in lore.traits if trait.key in keys]


def _likeliest(lore: PairLore, form_id: int) -> Told:
    """Return the states that a form most often shows, of the traits that tell most."""
    most = {worth.trait.key: worth for worth in _telling(lore)[:MOST_TRAITS]}
    is_first = form_id == lore.pair.first.id
    return tuple((key, (most[key].first_state if is_first else most[key].second_state).key) for key in _in_order(lore, set(most)))


def _is_clear(lore: PairLore, form_id: int, told: Sequence[tuple[str, str]]) -> bool:
    both = {form.id: lore.chances.get(form.id, {}) for form in (lore.pair.first, lore.pair.second)}
    return bool(told) and read(dict(told), both).chances[form_id] >= CLEAR_FROM


def _thrown(chances: Mapping[str, float], dice: Random) -> str:
    states = [state for state, chance in chances.items() if chance >= LEAST_TOLD]
    return dice.choices(states, [chances[state] for state in states])[0]
