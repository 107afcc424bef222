"""The stages of a pair set: which pictures each holds, and in which its pairs are best learnt, from easy to hard."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import takewhile
from typing import Final, NamedTuple, Protocol

from drillhall.core.traits import DECIDES_BITS, LIKE_BITS, TELLS_BITS, TraitWorth, order_of_telling
from drillhall.core.values import Form, PairLore, Standing, TraitKind
from drillhall.words import say

HARD_STAGES: Final = frozenset({"larva", "nymph", "juvenile", "immature", "subadult"})
CARRIED: Final = frozenset({TraitKind.STRUCTURE, TraitKind.SIZE, TraitKind.BEHAVIOUR})
"""The kinds of trait that the sexes and ages of a species mostly share; common practice, no source."""
HARD_SEXES: Final = frozenset({"female", "indeterminate"})
"""What is usually harder to tell than a marked adult, in birds above all; common practice, no source."""

_KINDS_IN_ORDER: Final = tuple(TraitKind)
_ROUNDING: Final = 1e-9
_Told = tuple[str, PairLore, tuple[TraitWorth, ...]]


class StagePictures(NamedTuple):
    """Which pictures a stage holds: those of some poses and of some distances; where it names none, those of any.

    A picture of which nobody has said the pose is not among those of a pose, and so with the distance.
    """

    poses: frozenset[str] = frozenset()
    distances: frozenset[str] = frozenset()

    def holds(self, pose: str, distance: str) -> bool:
        """Whether a picture in a pose, from a distance, is among them; capitals do not matter.

        >>> StagePictures(frozenset({"swimming"})).holds("Swimming", ""), StagePictures(frozenset({"swimming"})).holds("flying", "far")
        (True, False)
        """
        in_pose = not self.poses or pose.casefold() in {one.casefold() for one in self.poses}
        return in_pose and (not self.distances or distance in self.distances)


@lru_cache(maxsize=1024)
def stage_holding(poses: tuple[str, ...], distances: tuple[str, ...]) -> StagePictures:
    """Return the pictures of a stage that names some poses and distances; one for all pairs of it."""
    return StagePictures(frozenset(poses), frozenset(distances))


def reached(stages: Sequence[StagePictures], standing: Standing) -> tuple[StagePictures, ...]:
    """Return which of the stages that hold a pair a learner has reached, and so may be shown pictures of.

    The first alone until the pair is steady, then every one; when it is shaky again she is back in the first.

    Parameters
    ----------
    stages : the pictures of each stage that holds the pair, in the order of the set
    standing : where she is with the pair

    Source
    ------
    Ours: from easy to hard; common practice, no source.
    """
    return tuple(stages if standing in (Standing.STEADY, Standing.FIELD_READY) else stages[:1])


class Look(Protocol):
    """How a picture shows a form: in what pose, from what distance."""

    @property
    def form_id(self) -> int:
        """The form that it shows."""

    @property
    def pose(self) -> str:
        """Its pose, or empty."""

    @property
    def distance(self) -> str:
        """From how far, or empty."""


def can_ask(stage: StagePictures, form_ids: Collection[int], looks: Iterable[Look]) -> bool:
    """Whether a stage holds a picture of every one of some forms: one form alone would teach to say its name."""
    return set(form_ids) <= {look.form_id for look in looks if stage.holds(look.pose, look.distance)}


def held_by_any(stages: Sequence[StagePictures], pose: str, distance: str) -> bool:
    """Whether any of some stages holds a picture; without a stage, every picture is held."""
    return not stages or any(stage.holds(pose, distance) for stage in stages)


class PicturesHeld:
    """On how many pictures each form is seen in some stages; counted once for all pairs of the same stages.

    Parameters
    ----------
    looks : how forms look, each with its number of pictures.
    """

    def __init__(self, looks: Iterable[tuple[Look, int]]) -> None:
        self._looks = tuple(looks)
        self._counted: dict[tuple[StagePictures, ...], Mapping[int, int]] = {}

    def by(self, stages: tuple[StagePictures, ...]) -> Mapping[int, int]:
        """Return the pictures of each form that any of some stages holds; a form without one is left out."""
        known = self._counted.get(stages)
        if known is None:
            known = Counter[int]()
            for look, count in self._looks:
                if held_by_any(stages, look.pose, look.distance):
                    known[look.form_id] += count
            self._counted[stages] = known
        return known


@dataclass(frozen=True, slots=True)
class Suggested:
    """One suggested stage: a title, and the keys of its pairs in order."""

    title: str
    keys: tuple[str, ...]


def suggest_stages(lores: Sequence[tuple[str, PairLore]]) -> tuple[Suggested, ...]:
    """Order pairs into stages: what one trait decides on marked forms first, then what several must help with, hard sex and age last.

    Within a stage the pair whose best trait tells the most comes first. Pairs within 0.1 bit of the best one left are taken by
    the kind of trait that tells them, structure before colour, since structure is met again on the hard sex or age and colour
    mostly is not; of equals, the one that was named first. Among the hard, those come first of whose both species a trait of
    structure, size or behaviour that tells them was learnt on marked forms.

    Parameters
    ----------
    lores : (key of the pair, what the catalogue says of it), in the author's order

    Returns
    -------
    The stages that have pairs; every pair stands in one of them, once

    Source
    ------
    Common practice in teaching identification, no source: structure is learnt on well-marked forms, then carried over.
    What is alike in information is as in `traits.order_of_telling`.
    """
    titles = (say("One trait decides"), say("Several traits help"), say("The hard sex or age"))
    ordered = _by_information([(key, lore, order_of_telling(lore)) for key, lore in lores])
    stages = [[one for one in ordered if _stage(one[1]) == number] for number in range(len(titles))]
    learnt = {taught for _, lore, told in stages[0] + stages[1] for taught in _carried(lore, told)}
    stages[2].sort(key=lambda one: not _is_prepared(one[1], one[2], learnt))  # a stable sort: each half stays in its order
    return tuple(Suggested(title, tuple(key for key, _, _ in stage)) for title, stage in zip(titles, stages, strict=True) if stage)


def best_bits(lore: PairLore) -> float:
    """Return the information of the trait that tells most between a pair's forms, 0 where nothing is said of both."""
    return _most_bits(order_of_telling(lore))


def is_hard(form: Form) -> bool:
    """Whether a form is of a sex or an age that is usually hard to tell."""
    return form.sex in HARD_SEXES or form.life_stage in HARD_STAGES


def _most_bits(told: Sequence[TraitWorth]) -> float:
    return max((worth.bits for worth in told), default=0.0)


def _by_information(pairs: Sequence[_Told]) -> list[_Told]:
    """Order pairs by what their best trait tells; of those alike in that, by the kind of the trait that is told first."""
    left = sorted(pairs, key=lambda one: -_most_bits(one[2]))
    ordered = []
    while left:
        first = min(_alike(left), key=lambda one: _KINDS_IN_ORDER.index(one[2][0].trait.kind) if one[2] else len(_KINDS_IN_ORDER))
        ordered.append(first)
        left.remove(first)
    return ordered


def _alike(left: Sequence[_Told]) -> Iterator[_Told]:
    """Return those that tell as much as the first of some pairs in order, or hardly less."""
    least = _most_bits(left[0][2]) - LIKE_BITS - _ROUNDING
    return takewhile(lambda one: _most_bits(one[2]) >= least, left)


def _carried(lore: PairLore, told: Sequence[TraitWorth]) -> set[tuple[str, str]]:
    """Return what a pair teaches that its species' other sexes and ages show as well: (species, trait)."""
    keys = {worth.trait.key for worth in told if worth.trait.kind in CARRIED and worth.bits >= TELLS_BITS}
    return {(_species(form), key) for form in (lore.pair.first, lore.pair.second) for key in keys}


def _is_prepared(lore: PairLore, told: Sequence[TraitWorth], learnt: set[tuple[str, str]]) -> bool:
    """Whether a trait that tells a pair was learnt on both its species."""
    taught = _carried(lore, told) & learnt
    return any({(_species(lore.pair.first), key), (_species(lore.pair.second), key)} <= taught for _, key in taught)


def _species(form: Form) -> str:
    return form.scientific_name or form.name


def _stage(lore: PairLore) -> int:
    if is_hard(lore.pair.first) or is_hard(lore.pair.second):
        return 2
    return 0 if best_bits(lore) >= DECIDES_BITS else 1
