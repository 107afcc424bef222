"""What an open question shows on a day, and how its answers fell: over all, by pair and direction."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from drillhall.core.confusion import wilson
from drillhall.core.drawing_lots import Drawn, OnOffer, draw_for_day
from drillhall.core.rights import Purpose, may
from drillhall.core.stages import StagePictures, held_by_any
from drillhall.core.values import Form, Interval, Pair, PairLore
from drillhall.errors import BadAnswer, Conflict, NotFound
from drillhall.practice.at_hand import AtHand, pictures_at_hand
from drillhall.practice.cautioning import banners_of
from drillhall.practice.explaining import Portraits, explained
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.open_questions.keeping import OpenQuestion, the_question
from drillhall.practice.packets import Explained, PictureView
from drillhall.practice.views import picture_views
from drillhall.store.models.open_questions import OpenDayRow, OpenQuestionRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.queries import open_questions as reading
from drillhall.store.queries.pictures import rights_of
from drillhall.store.queries.showing import Audience, find_set_in_use, pairs_by_stage, showable
from drillhall.words import say

REMEMBERED = 60
"""Days looked back on, so that a picture does not come again soon."""


@dataclass(frozen=True, slots=True)
class OpenDay:
    """A question's day: the pair, the picture, and `told`, the answer, which a page keeps to itself until it has been answered."""

    day: date
    pair: Pair
    picture: PictureView
    told: Explained
    picture_id: int
    banners: tuple[str, ...]

    @property
    def truth(self) -> Form:
        """The form that the picture shows."""
        return self.told.truth


@dataclass(frozen=True, slots=True)
class Fell:
    """How often a form was said where another, or itself, was shown: of `shown` answers `times`, and the likely range."""

    shown_form: Form
    said: Form
    times: int
    shown: int
    likely: Interval

    @property
    def is_right(self) -> bool:
        """Whether the form said is the one shown."""
        return self.shown_form.id == self.said.id


@dataclass(frozen=True, slots=True)
class Stock:
    """What a question may draw from on a day: the lore of its pairs, the stages of each, and the pictures that anybody may be shown."""

    question: OpenQuestion
    catalogue_id: int
    lores: Mapping[int, PairLore]
    stages: Mapping[int, Sequence[StagePictures]]
    pictures: Mapping[int, PictureRow]

    @property
    def offers(self) -> tuple[OnOffer, ...]:
        """The pairs of which both forms have a picture that a stage of theirs holds, with such pictures."""
        found = []
        for pair_id, lore in self.lores.items():
            held = [one for one in self.pictures.values() if held_by_any(self.stages[pair_id], one.pose, one.distance)]
            sides = [tuple(one.id for one in held if one.form_id == form.id) for form in (lore.pair.first, lore.pair.second)]
            if all(sides):
                found.append(OnOffer(pair_id, sides[0], sides[1]))
        return tuple(found)


def the_stock(db: Session, question: OpenQuestion) -> Stock:
    """Return what a question may draw from today; raise NotFound where its set is out of use."""
    pair_set = find_set_in_use(db, question.set_id)
    if pair_set is None:
        raise NotFound(say("This question has ended. Thank you for looking in."))
    stages: dict[int, list[StagePictures]] = defaultdict(list)
    for pair_id, stage in pairs_by_stage(db, pair_set.id):
        stages[pair_id].append(stage)
    lores = lore_of_pairs(db, pair_set.catalogue_id, stages)
    forms = {form.id for lore in lores.values() for form in (lore.pair.first, lore.pair.second)}
    audience = Audience(is_paid=question.is_paid, is_public=True)
    found = showable(db, pair_set.catalogue_id, forms, audience, on=question.today)
    judged = {
        row.id: row
        for row, rights in found
        if may(rights_of(rights), owner_id=row.owner_id, viewer_id=None, purpose=Purpose.OPEN_QUESTION, on=question.today).allowed
    }
    return Stock(question, pair_set.catalogue_id, lores, stages, judged)


def list_lacking(db: Session, stock: Stock, *, viewer_id: int) -> tuple[tuple[Form, AtHand], ...]:
    """Return the forms of a question's pairs of which no picture may be shown to everybody, and what there is of each."""
    forms = {form.id: form for lore in stock.lores.values() for form in (lore.pair.first, lore.pair.second)}
    wanting = forms.keys() - {one.form_id for one in stock.pictures.values()}
    found = pictures_at_hand(db, stock.catalogue_id, wanting, viewer_id=viewer_id, on=stock.question.today)
    return tuple((form, found[form_id]) for form_id, form in forms.items() if form_id in wanting)


def the_day(db: Session, stock: Stock, day: date) -> OpenDay:
    """Return what a question showed, or shows, on a day; raise NotFound for a day to come, before its first, or without a picture."""
    question = stock.question
    if not question.first_day <= day <= question.today:
        raise NotFound(say("This question has no such day."))
    drawn = _drawn(db, stock, day)
    row = stock.pictures.get(drawn.picture_id) if drawn else None
    lore = stock.lores.get(drawn.pair_id) if drawn else None
    if row is None or lore is None or row.form_id not in (lore.pair.first.id, lore.pair.second.id):
        raise NotFound(say("The picture of that day may not be shown to everybody now. Come back tomorrow."))
    picture = picture_views(db, [row.id], catalogue_id=stock.catalogue_id, viewer_id=None, on=question.today)[row.id]
    told = explained(lore, lore.forms[row.form_id], picture, Portraits({}))
    return OpenDay(day, lore.pair, picture, told, row.id, banners_of(db, [stock.catalogue_id]))


def find_day(db: Session, stock: Stock, day: date) -> OpenDay | None:
    """Return what a question shows on a day, or None where it has nothing to show."""
    try:
        return the_day(db, stock, day)
    except NotFound:
        return None


def open_today(db: Session, public_id: str, *, at: datetime) -> tuple[OpenQuestion, OpenDay]:
    """Return a question that runs and its day, as anybody may see them; raise NotFound where there is none."""
    question = the_question(db, public_id, at=at)
    return question, the_day(db, the_stock(db, question), question.today)


def check_said(shown: OpenDay, said: str) -> int:
    """Return the form that was said, or raise BadAnswer where it was not among the two."""
    forms = {str(form.id): form.id for form in (shown.pair.first, shown.pair.second)}
    if said not in forms:
        raise BadAnswer(say("Choose one of the two forms."), field="said")
    return forms[said]


def count_answer(db: Session, shown: OpenDay, question: OpenQuestion, said_form_id: int, *, picture: str) -> None:
    """Count an answer to today's picture; raise Conflict where the page showed another, for the day's has changed since."""
    if picture != shown.picture.public_id or shown.day != question.today:
        raise Conflict(say("There is another picture by now. Look at it, and answer again."))
    reading.add_answer(db, question.id, shown.day, pair_id=shown.pair.id, picture_id=shown.picture_id, said_form_id=said_form_id)


def how_the_day_fell(db: Session, shown: OpenDay, question: OpenQuestion) -> tuple[Fell, ...]:
    """Return how often each of the two forms was said on a day, first form first."""
    counted = reading.answers_of_day(db, question.id, shown.day)
    return _fell(shown.pair, shown.truth, counted)


def how_all_fell(db: Session, stock: Stock) -> tuple[Fell, ...]:
    """Return what the audience mixes up so far: by pair and form shown, how often it was called the other, the most likely mix-up first.

    Every answer is judged by the form that its picture is said to show now. What is no longer in the set is left out.
    """
    sums: dict[tuple[int, int], dict[int, int]] = {}
    for one in reading.all_answers(db, [stock.question.id]):
        if one.pair_id in stock.lores and one.form_id is not None:
            counted = sums.setdefault((one.pair_id, one.form_id), {})
            counted[one.said_form_id] = counted.get(one.said_form_id, 0) + one.times
    told = []
    for (pair_id, form_id), counted in sums.items():
        pair = stock.lores[pair_id].pair
        if form_id in (pair.first.id, pair.second.id):
            told += [one for one in _fell(pair, pair.form(form_id), counted) if not one.is_right and one.shown]
    return tuple(sorted(told, key=lambda one: (-one.likely.low, -one.shown, one.shown_form.id)))


def _fell(pair: Pair, truth: Form, counted: Mapping[int, int]) -> tuple[Fell, ...]:
    forms = (pair.first, pair.second)
    shown = sum(counted.get(form.id, 0) for form in forms)
    return tuple(Fell(truth, form, counted.get(form.id, 0), shown, wilson(counted.get(form.id, 0), shown)) for form in forms)


def _drawn(db: Session, stock: Stock, day: date) -> Drawn | None:
    """Return what a day shows: as written down with its first answer, else as it is drawn."""
    known = db.get(OpenDayRow, (stock.question.id, day))
    if known is not None:
        return Drawn(known.pair_id, known.picture_id)
    before = reading.days_before(db, stock.question.id, day, most=REMEMBERED)
    lately = [Drawn(row.pair_id, row.picture_id) for row in before if row.day >= day - timedelta(days=REMEMBERED)]
    seed = db.get_one(OpenQuestionRow, stock.question.id).seed
    return draw_for_day(stock.offers, seed=seed, day=day, recent=lately)
