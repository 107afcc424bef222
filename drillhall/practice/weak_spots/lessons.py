"""Says what to teach next, whom it would help and why, and who needs help with what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from drillhall.core.confusion import FEW_SHOWN, Change, Sensitivity, WeekOfAnswers, change_of, mixup_rate, teach_next, weeks_until, wilson
from drillhall.core.values import Form, Interval, Pair
from drillhall.practice.weak_spots.prompting import Behind
from drillhall.practice.weak_spots.seeing import Pupil
from drillhall.store.queries.teacher import Sum, WeekSum

WEEKS: Final = 12
HALF: Final = 4
"""Change is told of the latest four weeks against the four before."""

MISSED_TWICE: Final = 2
LEANS_FROM: Final = 0.3
"""From this criterion on a name is said to come too easily; our own choice."""

MOST_NAMED: Final = 3


@dataclass(frozen=True, slots=True)
class LessonTold:
    """A pair to teach: how many of those who met it would be helped, who of them may be named, mix-ups spared in 100 showings to each.

    apart: how well its forms are told apart, None where too little was shown; weeks, change: what was missed of it over the weeks,
    empty and None where sums of people not named are among the counts.
    """

    pair: Pair
    helped: int
    met: int
    names: tuple[str, ...]
    spared: int
    behind: Behind | None
    apart: Sensitivity | None
    weeks: tuple[WeekOfAnswers, ...]
    change: Change | None

    @property
    def leaning(self) -> Form | None:
        """The form whose name comes too easily, beyond a little; None where neither does, or too little was shown."""
        if self.apart is None or abs(self.apart.criterion) < LEANS_FROM:
            return None
        return self.pair.second if self.apart.criterion > 0 else self.pair.first


@dataclass(frozen=True, slots=True)
class Trouble:
    """What one learner mixes up most: a form shown, what she takes it for, how often of how many."""

    shown: Form
    said: Form
    missed: int
    of: int


@dataclass(frozen=True, slots=True)
class LearnerLine:
    """One learner of the table; `needs_help`: she misses more than the group does, beyond chance."""

    pupil: Pupil
    missed: int
    shown: int
    rate: float
    needs_help: bool
    troubles: tuple[Trouble, ...] = ()

    @property
    def likely(self) -> Interval:
        """Where her true share of misses is likely to lie."""
        return wilson(self.missed, self.shown)

    @property
    def is_few(self) -> bool:
        """Whether she answered too little to be ranked."""
        return self.shown < FEW_SHOWN


def what_to_teach(
    sums: Iterable[Sum],
    weeks: Sequence[WeekSum] | None,
    pairs: Mapping[int, Pair],
    behind: Mapping[int, Behind],
    apart: Mapping[int, Sensitivity | None],
    named: Iterable[Pupil],
    *,
    overall: float,
    today: date,
) -> tuple[LessonTold, ...]:
    """Return the pairs to teach next, from the sums of each learner; `weeks` None where nothing is told of weeks."""
    told: dict[int, dict[int, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0]))
    for row in sums:
        cell = told[row.pair_id][row.account_id]
        cell[0] += row.times if row.said_form_id != row.shown_form_id else 0
        cell[1] += row.times
    rates = {}
    for pair_id, hers in told.items():
        expected = mixup_rate(sum(cell[0] for cell in hers.values()), sum(cell[1] for cell in hers.values()), prior=overall)
        rates[pair_id] = {account_id: mixup_rate(missed, shown, prior=expected) for account_id, (missed, shown) in hers.items()}
    names = {one.account_id: one.name for one in named}
    by_week = _by_week(weeks or ())
    found = []
    for lesson in teach_next(rates):
        counts = by_week.get(lesson.pair_id, {})
        found.append(
            LessonTold(
                pair=pairs[lesson.pair_id],
                helped=len(lesson.helped),
                met=len(rates[lesson.pair_id]),
                names=tuple(sorted(names[one] for one in lesson.helped if one in names)),
                spared=round(lesson.spared / len(lesson.helped)),
                behind=behind.get(lesson.pair_id),
                apart=apart.get(lesson.pair_id),
                weeks=weeks_until(counts, today=today, weeks=WEEKS) if weeks is not None else (),
                change=change_in(counts, today=today) if weeks is not None else None,
            )
        )
    return tuple(found)


def change_in(counts: Mapping[int, tuple[int, int]], *, today: date) -> Change:
    """Say whether less was missed in the latest four weeks than in the four before."""
    weeks = weeks_until(counts, today=today, weeks=2 * HALF)
    before, after = ((sum(one.missed for one in part), sum(one.shown for one in part)) for part in (weeks[:HALF], weeks[HALF:]))
    return change_of(before, after)


def change_of_rows(rows: Iterable[WeekSum], *, today: date) -> Change:
    """Say whether less was missed of late, over all rows together."""
    return change_in(_together(rows), today=today)


def over_the_weeks(rows: Iterable[WeekSum], *, today: date) -> tuple[WeekOfAnswers, ...]:
    """Return what was missed week by week, of all rows together."""
    return weeks_until(_together(rows), today=today, weeks=WEEKS)


def learner_lines(by_learner: Mapping[int, tuple[int, int]], named: Iterable[Pupil], *, overall: float) -> list[LearnerLine]:
    """Return those seen by name, who need help first, then by estimate; those who answered little or nothing at the end."""
    lines = []
    for pupil in named:
        missed, shown = by_learner.get(pupil.account_id, (0, 0))
        needs = shown >= FEW_SHOWN and wilson(missed, shown).low > overall
        lines.append(LearnerLine(pupil, missed, shown, mixup_rate(missed, shown, prior=overall), needs))
    return sorted(lines, key=lambda one: (not one.needs_help, one.is_few, not one.shown, -one.rate, one.pupil.name))


def troubles_of(sums: Iterable[Sum], account_id: int, pairs: Mapping[int, Pair], *, overall: float) -> tuple[Trouble, ...]:
    """Return what one learner mixes up most, of what she missed at least twice."""
    cells: dict[tuple[int, int], list[int]] = defaultdict(lambda: [0, 0])
    for row in sums:
        if row.account_id == account_id and row.pair_id in pairs:
            cell = cells[row.pair_id, row.shown_form_id]
            cell[0] += row.times if row.said_form_id != row.shown_form_id else 0
            cell[1] += row.times
    weak = [
        (mixup_rate(missed, shown, prior=overall), key, missed, shown) for key, (missed, shown) in cells.items() if missed >= MISSED_TWICE
    ]
    weak.sort(key=lambda one: (-one[0], one[1]))
    found = []
    for _, (pair_id, form_id), missed, shown in weak:
        pair = pairs[pair_id]
        if form_id in (pair.first.id, pair.second.id):
            found.append(Trouble(pair.form(form_id), pair.other(form_id), missed, shown))
    return tuple(found[:MOST_NAMED])


def _by_week(rows: Iterable[WeekSum]) -> dict[int, dict[int, tuple[int, int]]]:
    """Return (missed, shown) by pair and week."""
    found: dict[int, dict[int, tuple[int, int]]] = defaultdict(dict)
    for row in rows:
        missed, shown = found[row.pair_id].get(row.week, (0, 0))
        wrong = row.times if row.said_form_id != row.shown_form_id else 0
        found[row.pair_id][row.week] = (missed + wrong, shown + row.times)
    return found


def _together(rows: Iterable[WeekSum]) -> dict[int, tuple[int, int]]:
    """Return (missed, shown) by week, over all pairs."""
    counts: dict[int, tuple[int, int]] = {}
    for told in _by_week(rows).values():
        for week, (missed, shown) in told.items():
            old = counts.get(week, (0, 0))
            counts[week] = (old[0] + missed, old[1] + shown)
    return counts
