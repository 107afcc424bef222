"""Chooses the pictures of a test: equal numbers a form unless field odds are asked for, no scene twice, the unseen first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeVar

if TYPE_CHECKING:
    from random import Random

LEAST_RARE: Final = 2
"""Without two rare ones nothing could be said of how often a rarity is missed."""

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class PairAsked:
    """A pair to ask about: its forms, how many questions, an even number from 2 on; with odds, one in `one_in` is the rare form."""

    pair_id: int
    first_form_id: int
    second_form_id: int
    questions: int
    rare_form_id: int | None = None
    one_in: int = 2


@dataclass(frozen=True, slots=True)
class Spare:
    """A held-out picture that may be asked: its form, its scene (like pictures bear the same), and how many here have seen it."""

    picture_id: int
    form_id: int
    scene: Hashable
    seen_by: int = 0


@dataclass(frozen=True, slots=True)
class AskedOf:
    """One question: a picture that is asked of a pair."""

    pair_id: int
    picture_id: int


@dataclass(frozen=True, slots=True)
class Lacking:
    """A form of a pair of which there are fewer pictures than asked for."""

    pair_id: int
    form_id: int
    wanted: int
    found: int


@dataclass(frozen=True, slots=True)
class Composed:
    """A test's questions in thrown order, and what was lacking for it; where anything lacks, the test is not what was asked for."""

    questions: tuple[AskedOf, ...]
    lacking: tuple[Lacking, ...]


def compose(pairs: Sequence[PairAsked], spares: Sequence[Spare], *, dice: Random) -> Composed:
    """Choose a test's questions: no picture twice, never two of one scene, those that the fewest have seen first.

    Without odds a pair has equal numbers of its two forms. With odds each of its questions is the rare form by its own throw, so that
    nobody can count along, and at least two are. Forms that have the fewest scenes are served first; where scenes hold pictures of
    several forms that may leave one short that another choice would not have.

    Parameters
    ----------
    pairs : what to ask, each pair once.
    spares : what may be asked, each picture once.
    dice : the same dice give the same test.

    Returns
    -------
    Composed: the questions, and each form of a pair that fell short, with the numbers wanted and found.

    Raises
    ------
    ValueError: an odd or too small number of questions, or odds that are none.

    >>> from random import Random
    >>> spares = [Spare(number, 1 + number % 2, scene=number) for number in range(8)]
    >>> test = compose([PairAsked(5, 1, 2, questions=4)], spares, dice=Random(1))
    >>> len(test.questions), len({one.picture_id for one in test.questions}), test.lacking
    (4, 4, ())
    """
    slots = [(pair.pair_id, form_id, wanted) for pair in pairs for form_id, wanted in _wanted(pair, dice)]
    by_form: dict[int, list[Spare]] = defaultdict(list)
    for spare in shuffled(spares, dice=dice):
        by_form[spare.form_id].append(spare)
    order = sorted({form_id for _, form_id, _ in slots}, key=lambda form_id: (len({one.scene for one in by_form[form_id]}), form_id))
    used: set[Hashable] = set()
    questions: list[AskedOf] = []
    lacking: list[Lacking] = []
    for form_id in order:
        chosen = _fresh_scenes(by_form[form_id], used)
        for pair_id, _, wanted in (slot for slot in slots if slot[1] == form_id):
            mine, chosen = chosen[:wanted], chosen[wanted:]
            used |= {spare.scene for spare in mine}
            questions += [AskedOf(pair_id, spare.picture_id) for spare in mine]
            if len(mine) < wanted:
                lacking.append(Lacking(pair_id, form_id, wanted, len(mine)))
    return Composed(tuple(shuffled(questions, dice=dice)), tuple(lacking))


def shuffled(things: Sequence[T], *, dice: Random) -> list[T]:
    """Return things in thrown order; every order is as likely as any other."""
    thrown = list(things)
    dice.shuffle(thrown)
    return thrown


def _wanted(pair: PairAsked, dice: Random) -> list[tuple[int, int]]:
    """Return (form, how many) of a pair."""
    if pair.questions < 2 or pair.questions % 2:
        raise ValueError(f"a pair is asked an even number of questions, not {pair.questions}")
    first, second = pair.first_form_id, pair.second_form_id
    if pair.rare_form_id is None:
        return [(first, pair.questions // 2), (second, pair.questions // 2)]
    if pair.rare_form_id not in (first, second) or pair.one_in < 2:
        raise ValueError("odds name one form of the pair, and one in two or rarer")
    rare = sum(dice.random() < 1 / pair.one_in for _ in range(pair.questions))
    rare = min(max(rare, LEAST_RARE), pair.questions)
    common = second if pair.rare_form_id == first else first
    return [(pair.rare_form_id, rare), (common, pair.questions - rare)]


def _fresh_scenes(spares: Sequence[Spare], used: set[Hashable]) -> list[Spare]:
    """Return one picture of each scene that is not used yet, those that the fewest have seen first; ties stay as thrown."""
    found: dict[Hashable, Spare] = {}
    for spare in sorted(spares, key=lambda one: one.seen_by):
        if spare.scene not in used:
            found.setdefault(spare.scene, spare)
    return list(found.values())
