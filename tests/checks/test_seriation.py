"""The order of leaves against SciPy's tree, and against every order that the tree allows.

SciPy 1.17.1, `cluster.hierarchy`: its tree is taken as the reference; its own order of leaves is now and then a little longer than the
best one (measured here, 2026), so ours may not be longer than SciPy's and must be the best of all where all can be tried.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, product

import numpy as np
import pytest
from scipy.cluster.hierarchy import ClusterNode, leaves_list, linkage, optimal_leaf_ordering, to_tree
from scipy.spatial.distance import squareform
from statsmodels.stats.proportion import confint_proportions_2indep

from drillhall.core.confusion import difference, seriate


def a_table(size: int, seed: int) -> list[list[float]]:
    table = np.random.default_rng(seed).random((size, size))
    table = (table + table.T) / 2
    np.fill_diagonal(table, 0)
    return [[float(cell) for cell in row] for row in table]


def every_order(node: ClusterNode) -> list[tuple[int, ...]]:
    if node.is_leaf():
        return [(node.id,)]
    both = product(every_order(node.left), every_order(node.right))
    return [order for one, other in both for order in (one + other, other + one)]


def neighbours_cost(table: Sequence[Sequence[float]], order: Sequence[int]) -> float:
    """Return the sum of distances between neighbours in an order."""
    return sum(table[one][other] for one, other in pairwise(order))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("size", [2, 3, 5, 8])
def test_no_order_that_scipys_tree_allows_is_shorter(size: int, seed: int) -> None:
    table = a_table(size, seed)
    orders = every_order(to_tree(linkage(squareform(table), "average")))
    ours = seriate(table)
    assert ours in orders
    assert neighbours_cost(table, ours) == pytest.approx(min(neighbours_cost(table, order) for order in orders))


@pytest.mark.parametrize("size", [12, 24])
def test_it_is_never_longer_than_scipys_own_order(size: int) -> None:
    table = a_table(size, size)
    tree = optimal_leaf_ordering(linkage(squareform(table), "average"), squareform(table))
    theirs = [int(leaf) for leaf in leaves_list(tree)]
    assert neighbours_cost(table, seriate(table)) <= neighbours_cost(table, theirs) + 1e-9


@pytest.mark.parametrize(("before", "after"), [((30, 60), (12, 60)), ((3, 6), (1, 9)), ((0, 20), (5, 20)), ((7, 7), (6, 8))])
def test_the_difference_of_two_shares_agrees_with_statsmodels(before: tuple[int, int], after: tuple[int, int]) -> None:
    """statsmodels 0.15.0: Newcombe's interval of two independent proportions."""
    low, high = confint_proportions_2indep(*after, *before, method="newcomb", compare="diff")
    ours = difference(before, after)
    assert ours is not None
    assert (ours.low, ours.high) == pytest.approx((low, high), abs=1e-12)
