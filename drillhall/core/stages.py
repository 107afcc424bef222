"""The stages of a pair set: which pictures each holds, and in which its pairs are best learnt, from easy to hard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from drillhall.core.traits import DECIDES_BITS, order_of_telling
from drillhall.core.values import Form, PairLore, Standing

HARD_STAGES: Final = frozenset({"larva", "nymph", "juvenile", "immature", "subadult"})
HARD_SEXES: Final = frozenset({"female", "indeterminate"})
"""What is usually harder to tell than a marked adult, in birds above all; common practice, no source."""


@dataclass(frozen=True, slots=True)
class StagePictures:
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


def held_by_any(stages: Sequence[StagePictures], pose: str, distance: str) -> bool:
    """Whether any of some stages holds a picture; without a stage, every picture is held."""
    return not stages or any(stage.holds(pose, distance) for stage in stages)


@dataclass(frozen=True, slots=True)
class Suggested:
    """One suggested stage: a title, and the keys of its pairs in order."""

    title: str
    keys: tuple[str, ...]


def suggest_stages(lores: Sequence[tuple[str, PairLore]]) -> tuple[Suggested, ...]:
    """Order pairs into stages: what one trait decides on marked forms first, then what several must help with, hard sex and age last.

    Within a stage the pair whose best trait tells the most comes first; of equals, the one that was named first.

    Parameters
    ----------
    lores : (key of the pair, what the catalogue says of it), in the author's order

    Returns
    -------
    The stages that have pairs; every pair stands in one of them, once

    Source
    ------
    Common practice in teaching identification, no source: structure is learnt on well-marked forms, then carried over.
    """
    titles = ("One trait decides", "Several traits help", "The hard sex or age")
    ordered = sorted(lores, key=lambda one: -best_bits(one[1]))  # a stable sort: equals stay as they were named
    stages = [tuple(key for key, lore in ordered if _stage(lore) == number) for number in range(len(titles))]
    return tuple(Suggested(title, keys) for title, keys in zip(titles, stages, strict=True) if keys)


def best_bits(lore: PairLore) -> float:
    """Return the information of the trait that tells most between a pair's forms, 0 where nothing is said of both."""
    return max((worth.bits for worth in order_of_telling(lore)), default=0.0)


def is_hard(form: Form) -> bool:
    """Whether a form is of a sex or an age that is usually hard to tell."""
    return form.sex in HARD_SEXES or form.life_stage in HARD_STAGES


def _stage(lore: PairLore) -> int:
    if is_hard(lore.pair.first) or is_hard(lore.pair.second):
        return 2
    return 0 if best_bits(lore) >= DECIDES_BITS else 1
