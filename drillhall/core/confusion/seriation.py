"""Orders things by a table of distances so that like stands beside like: average linkage, then the best order of its leaves."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, isfinite

Distances = Sequence[Sequence[float]]


def seriate(distances: Distances) -> tuple[int, ...]:
    """Return an order of things in which neighbours are as near to each other as the tree of their likeness allows.

    The tree is made by average linkage; of all orders that keep its branches together, one with the least sum of distances between
    neighbours is taken. Written out here because the usual library takes longer to load than the whole server may take to start.

    Parameters
    ----------
    distances : n rows of n, symmetric, 0 or more and finite, 0 on the diagonal.

    Returns
    -------
    tuple of n places, each of 0 to n − 1 once; of equal trees and orders always the same.

    Raises
    ------
    ValueError: the table is not square, not symmetric, or holds what is no distance.

    Source
    ------
    Average linkage (UPGMA): Sokal and Michener (1958), A statistical method for evaluating systematic relationships. Order of
    leaves: Bar-Joseph, Gifford and Jaakkola (2001), Fast optimal leaf ordering for hierarchical clustering, Bioinformatics 17:S22
    (from memory).

    >>> seriate([[0, 9, 1], [9, 0, 2], [1, 2, 0]])
    (0, 2, 1)
    """
    _check(distances)
    if not distances:
        return ()
    left, right = _tree(distances)
    best = _best_orders(distances, left, right)
    root = max(left, default=0)
    ends = best[root]
    first, last = min(ends, key=lambda pair: (ends[pair][0], pair))
    order = _unfold(best, left, right, root, first, last)
    return order if order[0] <= order[-1] else order[::-1]


Ends = dict[tuple[int, int], tuple[float, int, int]]
"""(first leaf, last leaf) → the least cost, the last leaf of the one branch and the first of the other."""


def _tree(distances: Distances) -> tuple[dict[int, int], dict[int, int]]:
    """Return both branches of every joint; leaves are 0 to n − 1, joints n and on in the order in which they are made."""
    n = len(distances)
    far = {one: {other: float(distances[one][other]) for other in range(n) if other != one} for one in range(n)}
    sizes = dict.fromkeys(range(n), 1)
    left: dict[int, int] = {}
    right: dict[int, int] = {}
    for joint in range(n, 2 * n - 1):
        _, one, other = min((distance, a, b) for a, row in far.items() for b, distance in row.items() if a < b)
        left[joint], right[joint] = one, other
        sizes[joint] = sizes[one] + sizes[other]
        rows = far.pop(one), far.pop(other)
        far[joint] = {}
        for rest in far.keys() - {joint}:
            mean = (sizes[one] * rows[0][rest] + sizes[other] * rows[1][rest]) / sizes[joint]
            far[joint][rest] = far[rest][joint] = mean
            del far[rest][one], far[rest][other]
    return left, right


def _best_orders(distances: Distances, left: dict[int, int], right: dict[int, int]) -> dict[int, Ends]:
    """Return, for every branch, the least cost of an order by its two ends."""
    n = len(distances)
    best: dict[int, Ends] = {leaf: {(leaf, leaf): (0.0, leaf, leaf)} for leaf in range(n)}
    for joint in sorted(left):
        one, other = best[left[joint]], best[right[joint]]
        starts = sorted({first for first, _ in other})
        # First from an end of the one branch over the gap to each start of the other, then through the other branch to its end.
        over: dict[int, dict[int, tuple[float, int]]] = {}
        for (first, last), (cost, _, _) in sorted(one.items()):
            reach = over.setdefault(first, {})
            for start in starts:
                whole = cost + distances[last][start]
                if whole < reach.get(start, (inf, 0))[0]:
                    reach[start] = (whole, last)
        ends: Ends = {}
        for (start, last), (cost, _, _) in sorted(other.items()):
            for first, reach in over.items():
                whole = reach[start][0] + cost
                if whole < ends.get((first, last), (inf, 0, 0))[0]:
                    ends[first, last] = (whole, reach[start][1], start)
        best[joint] = ends | {(last, first): (cost, start, end) for (first, last), (cost, end, start) in ends.items()}
    return best


def _unfold(best: dict[int, Ends], left: dict[int, int], right: dict[int, int], node: int, first: int, last: int) -> tuple[int, ...]:
    if node not in left:
        return (node,)
    _, end, start = best[node][first, last]
    one, other = left[node], right[node]
    if (first, end) not in best[one]:
        one, other = other, one
    return (*_unfold(best, left, right, one, first, end), *_unfold(best, left, right, other, start, last))


def _check(distances: Distances) -> None:
    for place, row in enumerate(distances):
        if len(row) != len(distances) or row[place] != 0:
            raise ValueError("a table of distances is square, with 0 on its diagonal")
        for other, distance in enumerate(row):
            if not (isfinite(distance) and distance >= 0) or distances[other][place] != distance:
                raise ValueError(f"{distance} between {place} and {other} is no distance, or differs the other way round")
