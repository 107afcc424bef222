"""What a test came to: each sitter against guessing, the class pair by pair, how far the scores can be trusted, and its questions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.confusion import Sensitivity, guessing, sensitivity, wilson
from drillhall.core.field_tests import Doubt, Item, Reliability, analyse, doubt_of, questions_needed, reliability
from drillhall.core.values import Form, Interval, Pair
from drillhall.practice.field_tests.asked import Question, the_questions
from drillhall.practice.field_tests.marking import CHOICES, Marked, Sitter, mark_one, marked
from drillhall.practice.field_tests.sitting import is_over
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.packets import PictureView
from drillhall.practice.reader import ANYBODY, Reader, names_for
from drillhall.practice.views import picture_views
from drillhall.store.models.field_tests import FieldTestPairRow, FieldTestRow
from drillhall.store.queries import field_tests as reading
from drillhall.words import Said, say

WANTED = (70, 80, 90)
"""Reliabilities, in hundredths, for which the number of questions is told."""

CHANCE = 0.05
"""Below it a score is called better than guessing."""


DOUBT_WORDS: Final[Mapping[Doubt, Said]] = {
    Doubt.BELOW_GUESSING: say("fewer right than guessing gives"),
    Doubt.AGAINST_THE_REST: say("missed more often by those who did better elsewhere"),
}


@dataclass(frozen=True, slots=True)
class FormTold:
    """How often pictures of one form of a pair were named rightly."""

    form: Form
    right: int
    shown: int


@dataclass(frozen=True, slots=True)
class PairTold:
    """How well a class told one pair, with where the truth likely lies; `rare` is the rare form where field odds were asked for.

    `apart` takes how well the two are told apart from which name comes too easily; None below ten answers a form.
    """

    pair: Pair
    right: int
    shown: int
    likely: Interval
    first: FormTold
    second: FormTold
    rare: Form | None
    one_in: int | None
    apart: Sensitivity | None


@dataclass(frozen=True, slots=True)
class ClassResults:
    """A test's results: those told of by name, `others` in sum alone, the class by pair.

    `needed` says how many questions a reliability, in hundredths, would need; None: no number would do. Empty: nobody can say.
    """

    marked: Marked
    named: tuple[Sitter, ...]
    others: int
    beyond_guessing: int
    pairs: tuple[PairTold, ...]
    reliability: Reliability | None
    needed: Mapping[int, int | None]


@dataclass(frozen=True, slots=True)
class QuestionTold:
    """One question: its number in the test as it was set, what it shows, its analysis, and the picture for whoever may see it.

    `item` and `doubt` are None where it was dropped or nobody sat; `doubt_words` is then empty.
    """

    number: int
    pair: Pair
    form: Form | None
    item: Item | None
    doubt: Doubt | None
    is_dropped: bool
    picture: PictureView | None

    @property
    def doubt_words(self) -> Said:
        """Why its picture is worth another look."""
        return DOUBT_WORDS[self.doubt] if self.doubt else Said("")


@dataclass(frozen=True, slots=True)
class OwnResult:
    """What one sitting of hers came to.

    `by_guessing` is the chance that a mere guesser had as many right or more; `mixed` is (form shown, form said, times).
    """

    begun_at: datetime
    right: int
    asked: int
    answered: int
    by_guessing: float
    pairs: tuple[PairTold, ...]
    mixed: tuple[tuple[Form, Form, int], ...]
    dropped: int


def class_results(db: Session, test: FieldTestRow, *, kind: str, is_paid: bool, at: datetime, reader: Reader = ANYBODY) -> ClassResults:
    """Return what a test came to, by each learner's first sitting."""
    found = marked(db, test, kind=kind, is_paid=is_paid, at=at)
    trusted = reliability(found.matrix) if found.questions else None
    needed: dict[int, int | None] = {}
    if trusted is not None and trusted.kr20 is not None:
        needed = {wanted: questions_needed(min(trusted.kr20, 1.0), trusted.questions, wanted / 100) for wanted in WANTED}
    return ClassResults(
        marked=found,
        named=tuple(one for one in found.sitters if one.is_named),
        others=sum(not one.is_named for one in found.sitters),
        beyond_guessing=sum(one.by_guessing < CHANCE for one in found.sitters),
        pairs=_pairs_told(db, test, found.questions, [one.said for one in found.sitters], reader),
        reliability=trusted,
        needed=needed,
    )


def questions_told(
    db: Session, test: FieldTestRow, found: Marked, *, with_pictures: bool, at: datetime, reader: Reader = ANYBODY
) -> tuple[QuestionTold, ...]:
    """Return a test's questions with their analysis, in the order they were set; pictures for stewards alone."""
    every = sorted((*found.questions, *found.dropped), key=lambda one: one.place)
    pairs = _pairs(db, test, every, reader)
    items = dict(zip([one.id for one in found.questions], analyse(found.matrix), strict=False))
    ids = [one.picture_id for one in every] if with_pictures else []
    views = picture_views(db, ids, catalogue_id=test.catalogue_id, viewer_id=None, on=at.date())
    told = []
    for one in every:
        item, pair = items.get(one.id), pairs[one.pair_id]
        form = pair.form(one.key) if one.key in one.forms else None
        doubt = doubt_of(item, choices=CHOICES) if item is not None else None
        told.append(QuestionTold(one.place, pair, form, item, doubt, one.is_dropped, views.get(one.picture_id)))
    return tuple(told)


def own_results(db: Session, account_id: int, test_id: int, *, at: datetime) -> tuple[OwnResult, ...]:
    """Return what somebody's sittings of a test came to, in order; nothing before its results are released."""
    found = reading.find_test_for(db, account_id, test_id)
    if found is None or found[0].released_at is None:
        return ()
    test, group, _ = found
    questions = the_questions(db, test, is_paid=group.is_paid, at=at)
    live = [one for one in questions if not one.is_dropped]
    reader = names_for(db, account_id)
    pairs = _pairs(db, test, live, reader)
    results = []
    for row in reading.sittings_of(db, account_id, [test_id]):
        if is_over(row, test, at):
            said, right = mark_one(db, row, live)
            results.append(
                OwnResult(
                    begun_at=row.begun_at,
                    right=sum(right),
                    asked=len(live),
                    answered=sum(one != 0 for one in said),
                    by_guessing=guessing(sum(right), len(live), CHOICES),
                    pairs=_pairs_told(db, test, live, [said], reader),
                    mixed=_mixed(live, said, pairs),
                    dropped=len(questions) - len(live),
                )
            )
    return tuple(results)


def _mixed(questions: Sequence[Question], said: Sequence[int], pairs: Mapping[int, Pair]) -> tuple[tuple[Form, Form, int], ...]:
    times: dict[tuple[int, int, int], int] = {}
    for one, form_id in zip(questions, said, strict=True):
        if form_id not in (0, one.key):
            times[one.pair_id, one.key, form_id] = times.get((one.pair_id, one.key, form_id), 0) + 1
    ordered = sorted(times.items(), key=lambda line: (-line[1], line[0]))
    return tuple((pairs[pair_id].form(shown), pairs[pair_id].form(form_id), count) for (pair_id, shown, form_id), count in ordered)


def _pairs(db: Session, test: FieldTestRow, questions: Sequence[Question], reader: Reader) -> dict[int, Pair]:
    lores = lore_of_pairs(db, test.catalogue_id, {one.pair_id for one in questions}, reader=reader)
    return {pair_id: lore.pair for pair_id, lore in lores.items()}


def _pairs_told(
    db: Session, test: FieldTestRow, questions: Sequence[Question], said: Sequence[Sequence[int]], reader: Reader
) -> tuple[PairTold, ...]:
    pairs = _pairs(db, test, questions, reader)
    told = []
    for row in reading.pairs_asked(db, test.id):
        places = [place for place, one in enumerate(questions) if one.pair_id == row.pair_id]
        if places:
            given = [(questions[place].key, answers[place]) for answers in said for place in places]
            told.append(_pair_told(pairs[row.pair_id], row, given))
    return tuple(told)


def _pair_told(pair: Pair, row: FieldTestPairRow, given: Sequence[tuple[int, int]]) -> PairTold:
    first, second = (_form_told(form, given) for form in (pair.first, pair.second))
    right, shown = first.right + second.right, len(given)
    # Sensitivity is of answers alone: what was left open is neither a hit nor a false alarm.
    said_of = {form.id: [said for key, said in given if key == form.id and said] for form in (pair.first, pair.second)}
    return PairTold(
        pair=pair,
        right=right,
        shown=shown,
        likely=wilson(right, shown),
        first=first,
        second=second,
        rare=pair.form(row.rare_form_id) if row.rare_form_id is not None else None,
        one_in=row.one_in,
        apart=sensitivity(
            hits=said_of[pair.first.id].count(pair.first.id),
            shown_first=len(said_of[pair.first.id]),
            false_alarms=said_of[pair.second.id].count(pair.first.id),
            shown_second=len(said_of[pair.second.id]),
        ),
    )


def _form_told(form: Form, given: Sequence[tuple[int, int]]) -> FormTold:
    hers = [said for key, said in given if key == form.id]
    return FormTold(form, hers.count(form.id), len(hers))
