"""Puts the page of weak spots together: the matrix, what is mixed up most and why, what to teach next, who needs help with what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.confusion import AnswerSum, Cell, Matrix, WeekOfAnswers, count_cells, lay_out
from drillhall.core.values import Form, Pair, PairLore
from drillhall.practice.cautioning import banners_of
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.reader import ANYBODY, Reader
from drillhall.practice.weak_spots import counting
from drillhall.practice.weak_spots.counting import Choices, Chosen, Counted, Given
from drillhall.practice.weak_spots.lessons import LearnerLine, LessonTold, learner_lines, over_the_weeks, troubles_of, what_to_teach
from drillhall.practice.weak_spots.naming import Finer, forms_named, told_finer
from drillhall.practice.weak_spots.prompting import Behind, whats_behind
from drillhall.practice.weak_spots.seeing import Seen, who_is_seen
from drillhall.practice.weak_spots.spots import Spot, close_pairs, directions_of, of_late, overall_rate, told_apart_of
from drillhall.practice.weak_spots.veiled import the_veil

MOST_FORMS: Final = 16
"""A matrix of more forms is read by nobody; those mixed up most are shown, all are in the table to keep."""

MOST_SPOTS: Final = 24
HELPED_CLOSELY: Final = 12
"""Of so many learners, those who need help first, it is said with what."""


@dataclass(frozen=True, slots=True)
class WeakSpots:
    """What a group mixes up, as far as whoever asks may know.

    named, others: learners seen by name, and in sums; others_told: whether anything is told of the others; answers: that are counted.
    forms: of all that the group is given; finer: what tells apart those that bear one name; left_out: forms beyond the matrix. spots:
    ranked, those shown too seldom last. weeks: of the pairs looked at closely, empty where people not named are counted. cells: of the
    whole set.
    """

    named: int
    others: int
    others_told: bool
    answers: int
    has_pairs: bool
    matrix: Matrix
    cells: Mapping[tuple[int, int], Cell]
    forms: Mapping[int, Form]
    finer: Mapping[int, Finer]
    left_out: int
    spots: tuple[Spot, ...]
    behind: Mapping[int, Behind]
    lessons: tuple[LessonTold, ...]
    learners: tuple[LearnerLine, ...]
    weeks: tuple[WeekOfAnswers, ...]
    overall: float
    choices: Choices
    banners: tuple[str, ...]


def the_weak_spots(db: Session, group_id: int, role: str, chosen: Chosen, *, today: date, reader: Reader = ANYBODY) -> WeakSpots:
    """Return what a group mixes up, as somebody in a role sees it."""
    seen, given = who_is_seen(db, group_id, role), counting.the_given(db, group_id, chosen)
    choices = counting.the_choices(db, given)
    counting.refuse_unknown(chosen, choices)
    veil = the_veil(db, group_id, list(given.pairs), today=today) if seen.others else None
    counted = counting.count(db, group_id, seen, given, chosen, veil=veil) if given.pairs else Counted()
    plain = directions_of(counted, given.pairs)
    close = close_pairs(plain)
    told_by_week = not seen.others and not chosen.splits_answers and bool(close)
    weeks = counting.count_weeks(db, group_id, seen.named, close, today=today) if told_by_week else None
    directions = of_late(plain, weeks, today=today) if weeks is not None else plain
    overall = overall_rate((one.missed, one.shown) for one in plain)
    cells = _cells(counted, given)
    matrix = lay_out(cells, most=MOST_FORMS)
    lores, forms = _named(db, given, close, reader)
    pairs = _pairs(given, forms)
    behind = whats_behind(db, seen, {pair_id: lores[pair_id] for pair_id in close if pair_id in lores}, veil=veil) if close else {}
    apart = {pair_id: told_apart_of(counted, given.pairs[pair_id]) for pair_id in close}
    sums = counting.tellable_sums(db, group_id, seen, given, chosen, counted, close) if close else []
    spots = [Spot(one, forms[one.form_id], forms[one.other_id]) for one in directions if one.missed]
    shown = {form_id for form_id, _ in cells}
    return WeakSpots(
        named=len(seen.named),
        others=len(seen.others),
        others_told=_tells_of_others(counted, seen),
        answers=sum(cell[0] for cell in counted.cells.values()),
        has_pairs=bool(given.rows),
        matrix=matrix,
        cells=cells,
        forms=forms,
        finer=told_finer(forms.values()),
        left_out=len(shown - set(matrix.form_ids)),
        spots=tuple(spots),
        behind=behind,
        lessons=what_to_teach(sums, weeks, pairs, behind, apart, seen.named, overall=overall, today=today),
        learners=_learners(db, group_id, seen, given, chosen, counted, pairs, overall),
        weeks=over_the_weeks(weeks, today=today) if weeks is not None else (),
        overall=overall,
        choices=choices,
        banners=banners_of(db, {row.catalogue_id for row in given.rows}),
    )


def _cells(counted: Counted, given: Given) -> dict[tuple[int, int], Cell]:
    return count_cells(
        AnswerSum((given.pairs[pair].first_form_id, given.pairs[pair].second_form_id), shown, said, times, three)
        for (pair, shown, said), (times, _, three, _) in counted.cells.items()
        if times
    )


def _tells_of_others(counted: Counted, seen: Seen) -> bool:
    named = sum(shown for _, shown in counted.by_learner.values())
    return bool(seen.others) and sum(cell[0] for cell in counted.cells.values()) > named


def _named(db: Session, given: Given, close: Iterable[int], reader: Reader) -> tuple[dict[int, PairLore], dict[int, Form]]:
    """Return what the catalogues say of the pairs looked at closely, and every form by name."""
    wanted: dict[int, list[int]] = defaultdict(list)
    for pair_id in close:
        wanted[given.pairs[pair_id].catalogue_id].append(pair_id)
    named = forms_named(db, given.rows, reader)
    lores: dict[int, PairLore] = {}
    for catalogue_id, pair_ids in wanted.items():
        lores |= lore_of_pairs(db, catalogue_id, pair_ids, reader=reader)
    for lore in lores.values():
        named = lore.forms | named
    return lores, named


def _pairs(given: Given, forms: Mapping[int, Form]) -> dict[int, Pair]:
    return {pair_id: Pair(pair_id, forms[row.first_form_id], forms[row.second_form_id]) for pair_id, row in given.pairs.items()}


def _learners(
    db: Session, group_id: int, seen: Seen, given: Given, chosen: Chosen, counted: Counted, pairs: Mapping[int, Pair], overall: float
) -> tuple[LearnerLine, ...]:
    lines = learner_lines(counted.by_learner, seen.named, overall=overall)
    helped = [one for one in lines if one.missed][:HELPED_CLOSELY]
    if not helped:
        return tuple(lines)
    sums = counting.sums_of(db, group_id, [one.pupil for one in helped], given, chosen, list(given.pairs))
    said = {one.pupil.id: troubles_of(sums, one.pupil.account_id, pairs, overall=overall) for one in helped}
    return tuple(replace(one, troubles=said.get(one.pupil.id, ())) for one in lines)
