"""Doubted labels: what must hold whatever was said."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillhall.core.doubt import LEAST_LEARNERS, Said, estimate, is_disputed

LEARNERS = range(10)
LABELS = {picture: picture % 2 for picture in range(20)}


def right(picture: int, label: int, learners: range = LEARNERS) -> list[Said]:
    return [Said(picture, learner, label) for learner in learners]


def everybody_right() -> list[Said]:
    return [one for picture, label in LABELS.items() for one in right(picture, label)]


answers = st.lists(
    st.builds(
        Said,
        picture=st.integers(0, 5),
        learner=st.integers(0, 4),
        said=st.integers(0, 2),
        weight=st.sampled_from((0.5, 1.0)),
    ),
    min_size=1,
    max_size=60,
)


@settings(max_examples=60, deadline=None)
@given(answers, st.permutations(range(3)), st.booleans())
def test_what_the_classes_are_called_changes_nothing(told: list[Said], called: list[int], has_labels: bool) -> None:
    labels = {picture: picture % 3 for picture in range(6)} if has_labels else None
    renamed = {picture: called[label] for picture, label in labels.items()} if labels else None
    plain = estimate(told, classes=3, labels=labels, most_steps=8)
    other = estimate([Said(o.picture, o.learner, called[o.said], o.weight) for o in told], classes=3, labels=renamed, most_steps=8)
    for picture, chances in plain.pictures.items():
        assert [other.pictures[picture][called[one]] for one in range(3)] == pytest.approx(chances, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(answers, st.randoms())
def test_chances_sum_to_one_and_the_order_of_answers_is_all_one(told: list[Said], dice: Random) -> None:
    labels = {picture: picture % 3 for picture in range(6)}
    first = estimate(told, classes=3, labels=labels)
    shuffled = told[:]
    dice.shuffle(shuffled)
    again = estimate(shuffled, classes=3, labels=labels)
    for picture, chances in first.pictures.items():
        assert sum(chances) == pytest.approx(1)
        assert all(0 <= chance <= 1 for chance in chances)
        assert again.pictures[picture] == pytest.approx(chances, abs=1e-6)
    assert all(sum(row) == pytest.approx(1) for table in first.learners.values() for row in table)


def test_what_all_agree_on_is_as_good_as_certain() -> None:
    found = estimate(everybody_right(), classes=2, labels=LABELS)
    assert all(found.pictures[picture][label] > 0.9999 for picture, label in LABELS.items())


def test_a_wrong_label_that_all_contradict_is_found_and_no_other() -> None:
    told = everybody_right() + right(99, 1)
    found = estimate(told, classes=2, labels=LABELS | {99: 0})
    assert found.pictures[99][0] < 0.01
    assert all(found.pictures[picture][label] > 0.99 for picture, label in LABELS.items())


def test_neither_is_a_class_like_the_others() -> None:
    told = everybody_right() + right(99, 2)
    chances = estimate(told, classes=3, labels=LABELS | {99: 0}).pictures[99]
    assert chances[2] > 0.9


def test_guessers_carry_no_weight() -> None:
    dice = Random(3)
    told = everybody_right() + right(98, 0, range(4))
    guessers = range(100, 160)
    told += [Said(picture, learner, dice.randrange(2)) for picture in LABELS for learner in guessers]
    against = told + right(98, 1, guessers)  # sixty who cannot tell contradict four who can
    found = estimate(against, classes=2, labels=LABELS | {98: 0})
    assert found.pictures[98][0] > 0.9


def test_one_who_always_says_the_same_carries_no_weight() -> None:
    stubborn = [Said(picture, 50, 1) for picture in (*LABELS, 99)]
    found = estimate(everybody_right() + stubborn, classes=2, labels=LABELS | {99: 0})
    assert found.pictures[99][0] == pytest.approx(0.95, abs=0.05)


def test_a_newcomer_is_not_held_to_be_perfect() -> None:
    told = [*everybody_right(), Said(99, 70, 1), Said(97, 70, 0)]
    found = estimate(told, classes=2, labels=LABELS | {99: 0, 97: 0})
    assert found.learners[70][0][0] < 0.95


def test_half_sure_answers_weigh_less() -> None:
    few = everybody_right() + right(99, 1, range(2))
    half = everybody_right() + [Said(99, learner, 1, 0.5) for learner in range(2)]
    sure, unsure = (estimate(told, classes=2, labels=LABELS | {99: 0}).pictures[99][0] for told in (few, half))
    assert sure < unsure


def test_nothing_said_is_nothing_found() -> None:
    found = estimate([], classes=2, labels={})
    assert (found.pictures, found.learners) == ({}, {})


@pytest.mark.parametrize("said", [-1, 2])
def test_a_class_that_is_none_is_refused(said: int) -> None:
    with pytest.raises(ValueError, match="none of 2"):
        estimate([Said(1, 1, said)], classes=2)


def test_a_picture_without_a_label_is_refused_where_labels_count() -> None:
    with pytest.raises(ValueError, match=r"without a label: \[2\]"):
        estimate([Said(1, 1, 0), Said(2, 1, 0)], classes=2, labels={1: 0})


@pytest.mark.parametrize(
    ("chance", "learners", "disputed"),
    [(0.1, LEAST_LEARNERS, True), (0.1, LEAST_LEARNERS - 1, False), (0.5, 50, False), (0.49, 50, True)],
)
def test_a_label_is_disputed_by_enough_learners_alone(chance: float, learners: int, disputed: bool) -> None:
    assert is_disputed(chance, learners) is disputed
