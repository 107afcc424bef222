"""Puts the rounds of a drill in order: weak pairs early, neighbours unlike, a round likely to be held at the end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drillhall.core.values import PairToday


@dataclass(slots=True)
class _Place:
    """One place in the drill: the pair that stands there, whether it may move, and whether it belongs to the front."""

    pair: PairToday
    fixed: bool
    weak: bool


def shares_a_form(one: PairToday, other: PairToday) -> bool:
    """Say whether two pairs have a form in common."""
    return not {one.first_form_id, one.second_form_id}.isdisjoint((other.first_form_id, other.second_form_id))


def in_good_order(
    pairs: Sequence[PairToday],
    *,
    is_new: Sequence[bool],
    is_weak: Sequence[bool],
    front: int,
    ends_the_drill: bool,
) -> list[PairToday]:
    """Put each pair's first round in its place.

    New pairs keep the places they were given, except that a drill does not end on one: the last of them then comes one round
    earlier. Weak pairs come first in the places left, the others after them as they were chosen. Where the drill ends here, the
    pair with the lowest rate of mixing up stands last. Then neighbours that share a form are parted as far as that goes, without
    moving a new pair, the last one, or a weak one out of the front.

    Parameters
    ----------
    pairs : the pairs in the order they were chosen, each once
    is_new, is_weak : for each of them
    front : so many places count as the front of the drill
    ends_the_drill : whether nothing comes after these rounds

    Returns
    -------
    list of the same pairs
    """
    new_places = [place for place, new in enumerate(is_new) if new]
    known = [(pair, weak) for pair, new, weak in zip(pairs, is_new, is_weak, strict=True) if not new]
    if not known:
        return list(pairs)
    if ends_the_drill:
        new_places = _off_the_end(new_places, len(pairs))
        ending = min(known, key=lambda one: one[0].mixup_rate)
        known.remove(ending)
    in_turn = sorted(known, key=lambda one: not one[1])
    if ends_the_drill:
        in_turn.append(ending)
    new_pairs = iter([pair for pair, new in zip(pairs, is_new, strict=True) if new])
    old_pairs = iter(in_turn)
    places = []
    for place in range(len(pairs)):
        if place in new_places:
            places.append(_Place(next(new_pairs), fixed=True, weak=False))
        else:
            pair, weak = next(old_pairs)
            places.append(_Place(pair, fixed=ends_the_drill and place == len(pairs) - 1, weak=weak))
    _part_neighbours(places, front)
    return [place.pair for place in places]


def _off_the_end(new_places: list[int], rounds: int) -> list[int]:
    """Move a new pair off the last place, to the latest place that is not taken by a new one."""
    if rounds - 1 not in new_places:
        return new_places
    free = [place for place in range(rounds) if place not in new_places]
    return [*(place for place in new_places if place != rounds - 1), free[-1]]


def _part_neighbours(places: list[_Place], front: int) -> None:
    """Exchange rounds as long as that leaves fewer neighbours with a form in common."""
    better = True
    while better:
        better = any(_exchange_for_less(places, place, front) for place in range(len(places)) if _tangles(places, {place}))


def _exchange_for_less(places: list[_Place], one: int, front: int) -> bool:
    """Exchange this round with the nearest one that leaves fewer tangles; say whether there was one."""
    if places[one].fixed:
        return False
    for other in sorted(range(len(places)), key=lambda place: abs(place - one)):
        if other == one or places[other].fixed or _leaves_the_front(places, one, other, front):
            continue
        before = _tangles(places, {one, other})
        places[one], places[other] = places[other], places[one]
        if _tangles(places, {one, other}) < before:
            return True
        places[one], places[other] = places[other], places[one]
    return False


def _leaves_the_front(places: list[_Place], one: int, other: int, front: int) -> bool:
    early, late = min(one, other), max(one, other)
    return places[early].weak and not places[late].weak and late >= front


def _tangles(places: list[_Place], at: set[int]) -> int:
    """Count the neighbours with a form in common, among those that touch the places `at`."""
    joints = {joint for place in at for joint in (place - 1, place) if 0 <= joint < len(places) - 1}
    return sum(shares_a_form(places[joint].pair, places[joint + 1].pair) for joint in joints)
