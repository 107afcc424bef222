"""Sets a test to a group: what there is to ask, what the teacher wants, and the questions chosen for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from random import Random
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.field_tests import Lacking, PairAsked, Spare, compose
from drillhall.core.values import Form, Pair, PairLore
from drillhall.core.wanted import HELD_OUT
from drillhall.errors import Invalid, NotFound
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.shelf import the_set
from drillhall.store.models.field_tests import FieldTestExtraRow, FieldTestPairRow, FieldTestQuestionRow, FieldTestRow
from drillhall.store.queries import field_tests as reading
from drillhall.store.queries import leader
from drillhall.store.queries.showing import pairs_in_order
from drillhall.words import Said, joined, say

MOST_A_FORM: Final = 20
MOST_MINUTES: Final = 600
LONGEST_OPEN: Final = timedelta(days=92)
MOST_AHEAD: Final = timedelta(days=366)
FIELD_ODDS: Final = (3, 5, 10, 20)
"""One picture in so many may be asked to show the rare form."""

ENOUGH: Final = HELD_OUT
"""A pair with fewer held-out pictures of a form would make every pair be asked on as few, so it is not proposed beside others."""

EXTRA_PERCENT: Final = (25, 50, 100, 900)
"""More time for one learner, in percent; 900 is ten times the time. Source: WCAG 2.2, success criterion 2.2.1, "adjust"."""


@dataclass(frozen=True, slots=True)
class Stocked:
    """How many held-out pictures there are of a form, and how many of them nobody who learns in the group has seen."""

    form: Form
    pictures: int
    unseen: int


@dataclass(frozen=True, slots=True)
class PairOnOffer:
    """A pair that may be asked about, with what there is of its forms."""

    pair: Pair
    first: Stocked
    second: Stocked

    @property
    def most_a_form(self) -> int:
        """How many pictures a form may be asked at most if this pair is asked alone."""
        return min(self.first.pictures, self.second.pictures, MOST_A_FORM)


@dataclass(frozen=True, slots=True)
class Offer:
    """A pair set out of which a test may be set, and who learns in the group now, with the time each had last."""

    set_id: int
    title: str
    pairs: tuple[PairOnOffer, ...]
    learners: tuple[tuple[int, str], ...]
    extras: Mapping[int, int | None]

    @property
    def proposed(self) -> tuple[PairOnOffer, ...]:
        """The pairs to begin with: those with ENOUGH held-out pictures of each form; where none has, those that can be asked at all."""
        enough = tuple(one for one in self.pairs if one.most_a_form >= ENOUGH)
        return enough or tuple(one for one in self.pairs if one.most_a_form)

    @property
    def most_in_all(self) -> int:
        """How many pictures a form there are, scenes apart, if every proposed pair is asked; a form in two pairs is shared by them."""
        stocked = [side for one in self.proposed for side in (one.first, one.second)]
        shared = Counter(side.form.id for side in stocked)
        return max(1, min((side.pictures // shared[side.form.id] for side in stocked), default=1))


@dataclass(frozen=True, slots=True)
class PairWanted:
    """A pair to ask about; `one_in` set: one picture in so many is to show the rare form."""

    pair_id: int
    rare_form_id: int | None = None
    one_in: int | None = None


@dataclass(frozen=True, slots=True)
class TestWanted:
    """What is asked for; `minutes` None is no limit, `extras` percent of more time by account, None for no limit."""

    __test__ = False  # its name is no test's, whatever a collector of tests may think

    title: str
    set_id: int
    pairs: tuple[PairWanted, ...]
    per_form: int
    opens_at: datetime
    until: datetime
    minutes: int | None = None
    repeats: bool = False
    may_pause: bool = False
    extras: Mapping[int, int | None] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class InStock:
    """A held-out picture that a group may be asked, what tells like ones apart, and how many who learn in it have seen it."""

    picture_id: int
    form_id: int
    cluster: str
    fingerprint: int
    taken_on: date | None
    seen_by: int


def the_offer(db: Session, group_id: int, set_id: int, *, is_paid: bool, on: date) -> Offer:
    """Return what a test out of a pair set may ask a group; raise NotFound for a set that is on no shelf."""
    pair_set = the_set(db, set_id)
    pairs = [lore.pair for lore in _lores(db, pair_set.catalogue_id, pairs_in_order(db, set_id))]
    stock = the_stock(db, group_id, set_id, is_paid=is_paid, on=on)
    there = Counter(one.form_id for one in stock)
    unseen = Counter(one.form_id for one in stock if not one.seen_by)
    return Offer(
        set_id=set_id,
        title=pair_set.title,
        pairs=tuple(
            PairOnOffer(pair, *(Stocked(form, there[form.id], unseen[form.id]) for form in (pair.first, pair.second))) for pair in pairs
        ),
        learners=tuple((row.account_id, row.name) for row in leader.learners(db, group_id)),
        extras=reading.latest_extras(db, group_id),
    )


def the_stock(db: Session, group_id: int, set_id: int, *, is_paid: bool, on: date) -> tuple[InStock, ...]:
    """Return the held-out pictures of a set's forms that a group may be asked, as far as their rights run until `on`."""
    pair_set = the_set(db, set_id)
    pairs = leader.pairs_of_sets(db, [set_id]).get(set_id, [])
    forms = {form_id for pair in pairs for form_id in (pair.first_form_id, pair.second_form_id)}
    rows = reading.held_out(db, pair_set.catalogue_id, forms, is_paid=is_paid, on=on)
    seen = reading.seen_by(db, [row.id for row in rows], [row.account_id for row in leader.learners(db, group_id)])
    return tuple(InStock(row.id, row.form_id or 0, row.cluster, row.fingerprint, row.taken_on, len(seen.get(row.id, ()))) for row in rows)


def set_test(db: Session, group_id: int, wanted: TestWanted, spares: Sequence[Spare], *, by: int, at: datetime, dice: Random) -> int:
    """Set a test to a group out of the pictures given, and return its id.

    Raises Invalid for what is out of range or lacking, by field, NotFound for a set that is on no shelf; nothing is then written.
    """
    _refuse_odd(wanted, at)
    pair_set = the_set(db, wanted.set_id)
    known = {lore.pair.id: lore.pair for lore in _lores(db, pair_set.catalogue_id, pairs_in_order(db, wanted.set_id))}
    composed = compose([_asked(one, known, wanted.per_form) for one in wanted.pairs], spares, dice=dice)
    if composed.lacking:
        raise Invalid(_lacking_words(composed.lacking, known), field="per_form")
    row = FieldTestRow(
        group_id=group_id,
        catalogue_id=pair_set.catalogue_id,
        title=wanted.title.strip(),
        minutes=wanted.minutes,
        opens_at=wanted.opens_at,
        until=wanted.until,
        repeats=wanted.repeats,
        may_pause=wanted.may_pause,
        made_by=by,
        made_at=at,
    )
    db.add(row)
    db.flush()
    db.add_all(
        FieldTestPairRow(field_test_id=row.id, pair_id=one.pair_id, place=place, rare_form_id=one.rare_form_id, one_in=one.one_in)
        for place, one in enumerate(wanted.pairs)
    )
    db.add_all(
        FieldTestQuestionRow(field_test_id=row.id, pair_id=one.pair_id, picture_id=one.picture_id, place=place)
        for place, one in enumerate(composed.questions, 1)
    )
    _keep_extras(db, group_id, row.id, wanted.extras)
    db.flush()
    return row.id


def _lores(db: Session, catalogue_id: int, pair_ids: Sequence[int]) -> list[PairLore]:
    lores = lore_of_pairs(db, catalogue_id, pair_ids)
    return [lores[pair_id] for pair_id in pair_ids if pair_id in lores]


def _asked(one: PairWanted, known: Mapping[int, Pair], per_form: int) -> PairAsked:
    pair = known.get(one.pair_id)
    if pair is None:
        raise NotFound(say("One of the pairs is no longer in this set. Open the page anew."))
    if one.one_in is None:
        return PairAsked(pair.id, pair.first.id, pair.second.id, 2 * per_form)
    if one.rare_form_id not in (pair.first.id, pair.second.id) or one.one_in not in FIELD_ODDS:
        raise Invalid(say("Choose how often each form is shown from the list."), field=f"odds-{pair.id}")
    return PairAsked(pair.id, pair.first.id, pair.second.id, 2 * per_form, one.rare_form_id, one.one_in)


def _lacking_words(lacking: Sequence[Lacking], known: Mapping[int, Pair]) -> Said:
    told = []
    for one in lacking:
        form, pair = known[one.pair_id].form(one.form_id), known[one.pair_id]
        other = pair.second if form == pair.first else pair.first
        told.append(
            say("of {form} (with {other}) {found} of {wanted}", form=form.name, other=other.name, found=one.found, wanted=one.wanted)
        )
    return say(
        "There are too few held-out pictures: {lacking}. Ask for fewer a form, leave a pair out, or hold more pictures out.",
        lacking=joined("; ", told),
    )


def _keep_extras(db: Session, group_id: int, test_id: int, extras: Mapping[int, int | None]) -> None:
    learners = {row.account_id for row in leader.learners(db, group_id)}
    for account_id, percent in extras.items():
        if percent is not None and percent not in EXTRA_PERCENT:
            raise Invalid(say("Choose how much more time from the list."), field=f"extra-{account_id}")
        if account_id in learners:
            db.add(FieldTestExtraRow(field_test_id=test_id, account_id=account_id, percent=percent))


def _refuse_odd(wanted: TestWanted, at: datetime) -> None:
    title = wanted.title.strip()
    if not 1 <= len(title) <= 120:
        raise Invalid(say("Give the test a title of 1 to 120 letters."), field="title")
    if not wanted.pairs:
        raise Invalid(say("Choose at least one pair."), field="pair")
    if not 1 <= wanted.per_form <= MOST_A_FORM:
        raise Invalid(say("Pictures a form must be from 1 to {most_a_form}.", most_a_form=MOST_A_FORM), field="per_form")
    if wanted.minutes is not None and not 1 <= wanted.minutes <= MOST_MINUTES:
        raise Invalid(
            say("The time must be from 1 to {most_minutes} minutes, or empty for no limit.", most_minutes=MOST_MINUTES), field="minutes"
        )
    if wanted.until <= wanted.opens_at:
        raise Invalid(say("It shuts before it opens. Put the end after the beginning."), field="until")
    if wanted.until <= at:
        raise Invalid(say("It would be over already. Choose an end that is still to come."), field="until")
    if wanted.until - wanted.opens_at > LONGEST_OPEN:
        raise Invalid(say("It would stay open for more than three months. Choose an earlier end."), field="until")
    if wanted.opens_at > at + MOST_AHEAD:
        raise Invalid(say("It opens more than a year ahead. Choose an earlier day."), field="opens_at")
