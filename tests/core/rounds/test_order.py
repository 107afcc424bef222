"""The order of a drill: new pairs keep their places, weak ones come early, neighbours that share a form are parted."""

from __future__ import annotations

from random import Random

from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.rounds.order import in_good_order, shares_a_form
from drillhall.core.values import PairToday


def pair(pair_id: int, first: int = 0, second: int = 0, rate: float = 0.3) -> PairToday:
    return PairToday(pair_id, first or 2 * pair_id, second or 2 * pair_id + 1, mixup_rate=rate)


def order(pairs: list[PairToday], *, new: str = "", weak: str = "", front: int = 0, ends: bool = True) -> list[int]:
    """Order pairs; `new` and `weak` name them by id, as in "1 4"."""
    news, weaks = ({int(one) for one in ids.split()} for ids in (new, weak))
    ordered = in_good_order(
        pairs,
        is_new=[one.pair_id in news for one in pairs],
        is_weak=[one.pair_id in weaks for one in pairs],
        front=front,
        ends_the_drill=ends,
    )
    return [one.pair_id for one in ordered]


def test_forms_in_common_are_seen_on_either_side() -> None:
    assert shares_a_form(pair(1, 5, 6), pair(2, 6, 7))
    assert not shares_a_form(pair(1, 5, 6), pair(2, 7, 8))


def test_weak_pairs_come_first_and_the_likeliest_held_last() -> None:
    pairs = [pair(1, rate=0.1), pair(2), pair(3, rate=0.6), pair(4)]
    assert order(pairs, weak="3", front=2) == [3, 2, 4, 1]


def test_new_pairs_keep_their_places() -> None:
    pairs = [pair(1), pair(2), pair(3), pair(4), pair(5), pair(6)]
    assert [order(pairs, new="1 4", weak="6", front=2).index(new) for new in (1, 4)] == [0, 3]


def test_new_pair_gives_up_the_last_place() -> None:
    assert order([pair(1), pair(2), pair(3), pair(4)], new="1 4") == [1, 3, 4, 2]


def test_new_pair_stays_last_where_further_rounds_follow() -> None:
    assert order([pair(1), pair(2), pair(3), pair(4)], new="1 4", ends=False) == [1, 2, 3, 4]


def test_all_new_stay_as_they_are() -> None:
    assert order([pair(3), pair(1), pair(2)], new="1 2 3") == [3, 1, 2]


def test_one_known_pair_ends_the_drill() -> None:
    assert order([pair(1), pair(2), pair(3)], new="1 3") == [1, 3, 2]


def test_nothing_to_order() -> None:
    assert order([]) == []


def test_neighbours_that_share_a_form_are_parted() -> None:
    pairs = [pair(1, 5, 6), pair(2, 6, 7), pair(3), pair(4), pair(5, rate=0.1)]
    ordered = order(pairs)
    assert abs(ordered.index(1) - ordered.index(2)) > 1
    assert ordered[-1] == 5


def test_neighbours_stay_where_nothing_helps() -> None:
    assert order([pair(1, 5, 6), pair(2, 5, 7), pair(3, 5, 8, rate=0.1)]) == [1, 2, 3]


def test_parting_leaves_weak_pairs_in_the_front() -> None:
    pairs = [pair(1, 5, 6), pair(2, 6, 7), pair(3), pair(4), pair(5), pair(6, rate=0.1)]
    ordered = order(pairs, weak="1 2", front=2)
    assert set(ordered[:2]) == {1, 2}


@given(
    forms=st.lists(st.tuples(st.integers(1, 6), st.integers(7, 12), st.floats(0, 1)), max_size=12),
    chosen=st.randoms(use_true_random=False),
    ends=st.booleans(),
)
def test_order_keeps_every_pair_its_new_places_and_its_front(forms: list[tuple[int, int, float]], chosen: Random, ends: bool) -> None:
    pairs = [pair(pair_id, *one) for pair_id, one in enumerate(forms, 1)]
    kinds = [chosen.choice(["new", "weak", ""]) for _ in pairs]
    new, weak = ({one.pair_id for one, kind in zip(pairs, kinds, strict=True) if kind == said} for said in ("new", "weak"))
    front = -(-len(pairs) // 3)
    ordered = order(pairs, new=" ".join(map(str, new)), weak=" ".join(map(str, weak)), front=front, ends=ends)
    assert sorted(ordered) == [one.pair_id for one in pairs]
    if not ends:
        assert [ordered.index(pair_id) for pair_id in sorted(new)] == [pair_id - 1 for pair_id in sorted(new)]
        # A place in the front that is neither new nor weak is left only if no weak pair stands behind.
        idle = [place for place in range(front) if ordered[place] not in new | weak]
        behind = [pair_id for pair_id in ordered[front:] if pair_id in weak]
        assert not (idle and behind)


def test_long_drill_is_ordered_without_delay() -> None:
    pairs = [pair(pair_id, 1 + pair_id % 5, 6 + pair_id % 7) for pair_id in range(1, 301)]
    assert len(order(pairs, front=100)) == 300
