"""Counts what may be known: answers given since each joined, on pairs that the group is given, of the kind that was asked for."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.confusion import week_of
from drillhall.core.values import NEITHER
from drillhall.errors import Invalid, NotFound
from drillhall.practice.weak_spots.seeing import Pupil, Seen
from drillhall.practice.weak_spots.since import folded_since
from drillhall.practice.weak_spots.veiled import Veil, veiled_sums
from drillhall.store.queries import teacher as reading
from drillhall.store.queries.teacher import Among, GivenPair, Sum, Totals, WeekSum
from drillhall.words import say

REMEMBERED: Final = timedelta(weeks=52)


@dataclass(frozen=True, slots=True)
class Chosen:
    """Which answers are asked for; None or empty asks for all.

    The first four choose pairs and forms shown; the last four tell answers to the same pair apart.
    """

    assignment_id: int | None = None
    stage: int | None = None
    sex: str = ""
    life_stage: str = ""
    orientation: str = ""
    pose: str = ""
    rendition: str = ""
    fresh: bool = False

    @property
    def splits_answers(self) -> bool:
        """Whether answers to one pair are told apart: what is left over might be one person's, so that sums are not split."""
        return bool(self.orientation or self.pose or self.rendition or self.fresh)


@dataclass(frozen=True, slots=True)
class Given:
    """What a group is given: every pair once, those chosen, and the forms that may be shown."""

    rows: tuple[GivenPair, ...]
    pairs: Mapping[int, GivenPair]
    form_ids: frozenset[int]


def the_given(db: Session, group_id: int, chosen: Chosen) -> Given:
    """Return the pairs that a group is given, those that are asked for; raise NotFound for an assignment that it is not given."""
    rows = tuple(reading.given_pairs(db, group_id))
    if chosen.assignment_id not in (None, *(row.assignment_id for row in rows)):
        raise NotFound(say("There is no such assignment of this group, or it was taken back."))
    kept = [
        row for row in rows if chosen.assignment_id in (None, row.assignment_id) and (chosen.stage is None or chosen.stage == row.stage)
    ]
    pairs: dict[int, GivenPair] = {}
    for row in kept:
        pairs.setdefault(row.pair_id, row)
    forms = reading.forms_of(db, {form_id for row in rows for form_id in (row.first_form_id, row.second_form_id)})
    wanted = {form_id for form_id, (sex, life_stage) in forms.items() if chosen.sex in ("", sex) and chosen.life_stage in ("", life_stage)}
    return Given(rows, pairs, frozenset(wanted))


@dataclass
class Counted:
    """What is told: (pair, shown, said) → (times, fresh, three, learners who said it); by learner seen by name: (missed, shown).

    veiled: the sums of those who are not seen by name, as far as they are told, each learner's by itself.
    """

    cells: dict[tuple[int, int, int], tuple[int, int, int, int]] = field(default_factory=dict)
    by_learner: dict[int, tuple[int, int]] = field(default_factory=dict)
    veiled: list[Sum] = field(default_factory=list)

    def take(self, cells: Mapping[tuple[int, int, int], tuple[int, int, int, int]]) -> None:
        """Add counts."""
        for key, (times, fresh, three, learners) in cells.items():
            old = self.cells.get(key, (0, 0, 0, 0))
            self.cells[key] = (old[0] + times, old[1] + fresh, old[2] + three, old[3] + learners)


@dataclass(frozen=True, slots=True)
class Choices:
    """What may be asked for: (number, title) of assignments and stages, and the words of sex, age, pose."""

    assignments: tuple[tuple[int, str], ...]
    stages: tuple[tuple[int, str], ...]
    sexes: tuple[str, ...]
    life_stages: tuple[str, ...]
    poses: tuple[str, ...]


def the_choices(db: Session, given: Given) -> Choices:
    """Return what may be asked for, of all that a group is given."""
    form_ids = {form_id for row in given.rows for form_id in (row.first_form_id, row.second_form_id)}
    forms = reading.forms_of(db, form_ids).values()
    return Choices(
        assignments=tuple(dict.fromkeys((row.assignment_id, row.set_title) for row in given.rows)),
        stages=tuple(sorted({row.stage: row.stage_title for row in reversed(given.rows)}.items())),
        sexes=tuple(sorted({sex for sex, _ in forms if sex})),
        life_stages=tuple(sorted({life_stage for _, life_stage in forms if life_stage})),
        poses=tuple(reading.poses_of(db, form_ids)),
    )


def refuse_unknown(chosen: Chosen, choices: Choices) -> None:
    """Raise Invalid, by field, for what is asked of and cannot be: a choice that the group is given nothing of."""
    asked = (
        ("stage", say("The stage"), chosen.stage, [number for number, _ in choices.stages]),
        ("sex", say("The sex shown"), chosen.sex, choices.sexes),
        ("life_stage", say("The age shown"), chosen.life_stage, choices.life_stages),
        ("pose", say("The pose"), chosen.pose, choices.poses),
    )
    for field_name, label, said, known in asked:
        if said not in (None, "", *known):
            if not known:
                raise Invalid(say("{label} tells nothing apart here. Choose one of the list.", label=label), field=field_name)
            choices_told = ", ".join(map(str, known))
            raise Invalid(
                say("{label} must be one of: {choices}. Choose one of the list.", label=label, choices=choices_told), field=field_name
            )


def count(db: Session, group_id: int, seen: Seen, given: Given, chosen: Chosen, *, veil: Veil | None) -> Counted:
    """Return the counts that may be told: everything of those seen by name, and of the others what the veil lets through.

    Where answers to one pair are told apart, the others are left out.
    """
    found = count_named(db, group_id, seen.named, given, chosen)
    if veil and not chosen.splits_answers:
        rows = veiled_sums(db, group_id, seen, list(given.pairs), veil)
        found.veiled = [row for row in rows if row.shown_form_id in given.form_ids]
        found.take(_summed(found.veiled, Totals({}, {}, {}), 1).cells)
    return found


def count_named(db: Session, group_id: int, pupils: Collection[Pupil], given: Given, chosen: Chosen) -> Counted:
    """Return the counts of some learners who are seen by name."""
    found, named = Counted(), _totals(db, group_id, pupils, given, chosen)
    found.take({key: cell for key, cell in named.cells.items() if key[1] in given.form_ids})
    found.by_learner = named.by_learner
    return found


def sums_of(db: Session, group_id: int, pupils: Collection[Pupil], given: Given, chosen: Chosen, pair_ids: Collection[int]) -> list[Sum]:
    """Return the sums of some learners about some of the pairs, each by herself."""
    among = _among(pupils, pair_ids, chosen)
    if chosen.pose:
        posed = reading.posed_sums(db, group_id, among, pose=chosen.pose)
        rows = [Sum(who, pair, shown, int(said or NEITHER), times, fresh, 0) for who, pair, shown, said, times, fresh in posed]
    else:
        before = reading.begun_before(db, group_id, pair_ids)
        rows = [row for row in reading.sums(db, among) if (row.account_id, row.pair_id) not in before]
        rows += _anew(db, pupils, before, among)
    return [row for row in rows if row.shown_form_id in given.form_ids]


def _totals(db: Session, group_id: int, pupils: Collection[Pupil], given: Given, chosen: Chosen) -> Totals:
    """Return sums over some learners; what holds answers from before somebody joined is taken out, and put in again without them."""
    pair_ids, among = list(given.pairs), _among(pupils, given.pairs, chosen)
    if chosen.pose or chosen.sex or chosen.life_stage:
        return _summed(sums_of(db, group_id, pupils, given, chosen, pair_ids), Totals({}, {}, {}), 1)
    told = reading.totals(db, among)
    before = {cell for cell in reading.begun_before(db, group_id, pair_ids) if cell[0] in set(among.account_ids)}
    if not before:
        return told
    touched = Among({one for one, _ in before}, {pair for _, pair in before}, among.orientation, among.rendition, among.fresh)
    stale = [row for row in reading.sums(db, touched) if (row.account_id, row.pair_id) in before]
    return _summed(_anew(db, pupils, before, among), _summed(stale, told, -1), 1)


def _summed(rows: Iterable[Sum], told: Totals, sign: int) -> Totals:
    """Add the sums of single learners to totals, or take them away."""
    shown_to: set[tuple[int, int, int]] = set()
    for row in rows:
        key = (row.pair_id, row.shown_form_id, row.said_form_id)
        old = told.cells.get(key, (0, 0, 0, 0))
        told.cells[key] = (old[0] + sign * row.times, old[1] + sign * row.fresh, old[2] + sign * row.three, old[3] + sign)
        shown_to.add((row.account_id, row.pair_id, row.shown_form_id))
        missed, shown = told.by_learner.get(row.account_id, (0, 0))
        wrong = row.times if row.said_form_id != row.shown_form_id else 0
        told.by_learner[row.account_id] = (missed + sign * wrong, shown + sign * row.times)
    for _, pair_id, form_id in shown_to:
        told.shown_to[pair_id, form_id] = told.shown_to.get((pair_id, form_id), 0) + sign
    return told


def _among(pupils: Iterable[Pupil], pair_ids: Iterable[int], chosen: Chosen) -> Among:
    accounts = [one.account_id for one in pupils]
    return Among(accounts, list(pair_ids), chosen.orientation or None, chosen.rendition or None, chosen.fresh or None)


def count_weeks(db: Session, group_id: int, pupils: Collection[Pupil], pair_ids: Collection[int], *, today: date) -> list[WeekSum]:
    """Return sums by week, of some learners who are seen by name, of some pairs and of the last year."""
    accounts, since = [one.account_id for one in pupils], week_of(today - REMEMBERED)
    rows = reading.week_sums(db, Among(accounts, list(pair_ids), since_week=since))
    before = reading.begun_before(db, group_id, pair_ids)
    if not before:
        return rows
    rows = [row for row in rows if (row.account_id, row.pair_id) not in before]
    for (account_id, pair_id), tally in folded_since(db, pupils, before).items():
        counted: Counter[tuple[int, int, int]] = Counter()
        two: Counter[tuple[int, int, int]] = Counter()
        for key, number in tally.items():
            if key.week >= since:
                counted[key.shown_form_id, key.said_form_id, key.week] += number
                two[key.shown_form_id, key.said_form_id, key.week] += number if key.choices == 2 else 0
        rows += [WeekSum(account_id, pair_id, *cell, number, two[cell]) for cell, number in counted.items()]
    return rows


def _anew(db: Session, pupils: Iterable[Pupil], cells: Iterable[tuple[int, int]], among: Among) -> list[Sum]:
    """Return the sums of some learners and pairs from answers given since each joined."""
    found = []
    for (account_id, pair_id), tally in folded_since(db, pupils, cells).items():
        counted: dict[tuple[int, int], list[int]] = defaultdict(lambda: [0, 0, 0])
        for key, number in tally.items():
            if among.orientation not in (None, key.orientation) or among.rendition not in (None, key.rendition.value):
                continue
            if among.fresh not in (None, key.fresh):
                continue
            cell = counted[key.shown_form_id, key.said_form_id]
            for place, counts in enumerate((True, key.fresh, key.choices > 2)):
                cell[place] += number if counts else 0
        found += [Sum(account_id, pair_id, *forms, *cell) for forms, cell in counted.items()]
    return found


def tellable_sums(
    db: Session, group_id: int, seen: Seen, given: Given, chosen: Chosen, counted: Counted, pair_ids: Collection[int]
) -> list[Sum]:
    """Return sums learner by learner about a few pairs, as far as `count` told of them."""
    wanted = set(pair_ids)
    return sums_of(db, group_id, seen.named, given, chosen, pair_ids) + [row for row in counted.veiled if row.pair_id in wanted]
