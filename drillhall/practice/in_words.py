"""A drill in words: birds are described instead of shown. It keeps its own counts and its own memory, and tells nothing of pictures."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core import in_words
from drillhall.core.memory import Parameters, due_day
from drillhall.core.traits import order_of_telling
from drillhall.core.values import Form, Memory, Pair, PairLore, State, Sure, Trait
from drillhall.errors import BadAnswer, Conflict, NotFound
from drillhall.practice.cautioning import banners_of
from drillhall.practice.days import local_day
from drillhall.practice.explaining import worth_in_words
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.reader import names_for
from drillhall.practice.remembering import parameters_of
from drillhall.store.models.in_words import DescriptionRow, WordDrillRow
from drillhall.store.models.people import AccountRow
from drillhall.store.queries import in_words as reading_words
from drillhall.store.queries import learner as reading
from drillhall.words import say

MOST_MET: Final = 6
"""More traits than this are not kept in mind at a first meeting; the page of the pair tells them all."""


@dataclass(frozen=True, slots=True)
class PairInWords:
    """Where she is with a pair in words: answered, right, rounds held running, and when it comes back (None: it cannot be told)."""

    pair: Pair
    answered: int
    right: int
    held_running: int
    back_on: date | None


@dataclass(frozen=True, slots=True)
class WordsPage:
    """What the page of drills in words tells: pairs met, how many are due, new or cannot be told, whether any can, and the open drill."""

    met: tuple[PairInWords, ...]
    due: int
    new: int
    untold: tuple[Pair, ...]
    can_start: bool
    open_drill: str
    today: date


@dataclass(frozen=True, slots=True)
class TraitLine:
    """A trait of a pair that is met in words: what it is worth, and the usual state of either form."""

    trait: Trait
    worth: str
    first: State
    second: State


@dataclass(frozen=True, slots=True)
class SaysLine:
    """What one trait told says: so many of a hundred of either form show that state."""

    trait: Trait
    state: State
    first_in_100: int
    second_in_100: int


@dataclass(frozen=True, slots=True)
class Bird:
    """One bird of a drill in words: its pair, what is told of it, and, once it is answered, what it is, what was said, and why.

    `says` has the trait that says most first; it is empty while the bird is asked.
    """

    id: int
    place: int
    pair: Pair
    told: tuple[tuple[Trait, State], ...]
    truth: Form | None = None
    said: Form | None = None
    sure: str = ""
    says: tuple[SaysLine, ...] = ()

    @property
    def right(self) -> bool:
        """Whether it was named rightly."""
        return self.truth is not None and self.truth == self.said


@dataclass(frozen=True, slots=True)
class WordDrillPage:
    """A drill in words as it stands: the bird asked for now (None once it is over), all that were answered, and what parts a new pair.

    `meets` is empty unless the pair of the bird asked for is new to her in words, and none of it has been answered.
    """

    drill_id: str
    asked: Bird | None
    answered: tuple[Bird, ...]
    of: int
    meets: tuple[TraitLine, ...]
    back_on: tuple[tuple[Pair, date], ...]
    banners: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Hers:
    """What planning knows: her account, her day, lore by pair in the order of meeting, which of these can be told, rounds, memories."""

    account: AccountRow
    today: date
    lores: Mapping[int, PairLore]
    told: Sequence[int]
    catalogues: Mapping[int, int]
    rounds: Sequence[in_words.WordRound]
    memories: Mapping[int, Memory]
    parameters: Parameters


def the_words(db: Session, account_id: int, *, now: datetime) -> WordsPage:
    """Return where a learner is in words."""
    hers = _hers(db, account_id, now=now)
    back = _back_on(hers)
    answered, right = Counter[int](), Counter[int]()
    for one in hers.rounds:
        answered[one.pair_id] += one.answered
        right[one.pair_id] += one.answered - one.missed
    return WordsPage(
        met=tuple(
            PairInWords(hers.lores[pair_id].pair, answered[pair_id], right[pair_id], hers.memories[pair_id].held_running, back.get(pair_id))
            for pair_id in sorted(hers.memories.keys() & hers.lores.keys(), key=lambda pair_id: (back.get(pair_id, date.max), pair_id))
        ),
        due=sum(day <= hers.today for day in back.values()),
        new=len(set(hers.told) - set(back)),
        can_start=bool(hers.told),
        untold=tuple(lore.pair for pair_id, lore in hers.lores.items() if pair_id not in hers.told),
        open_drill=open_word_drill(db, account_id, today=hers.today),
        today=hers.today,
    )


def open_word_drill(db: Session, account_id: int, *, today: date) -> str:
    """Return the learner's drill in words of today of which a bird is still asked for, or an empty text."""
    return reading_words.open_word_drill(db, account_id, day=today)


def start_words(db: Session, account_id: int, *, drill_id: str, at: datetime) -> str:
    """Plan a drill in words under `drill_id` and return its id; while one of today is open, return that.

    Raises
    ------
    Conflict : she has no pair that can be told in words.
    """
    db.execute(select(AccountRow.id).where(AccountRow.id == account_id).with_for_update())  # of two asked for at once, one is planned
    hers = _hers(db, account_id, now=at)
    if already := open_word_drill(db, account_id, today=hers.today):
        return already
    if not hers.told:
        raise Conflict(say("None of your pairs can be told in words yet: take a set from the shelf whose catalogue tells traits."))
    chosen = in_words.choose_pairs(
        hers.told,
        hers.memories,
        today=hers.today,
        account_id=account_id,
        target=hers.account.target_recall,
        parameters=hers.parameters,
        new=max(0, hers.account.new_a_day - in_words.met_on(hers.rounds, hers.today)),
    )
    dice = random.Random(f"{account_id} {drill_id} words")
    db.add(WordDrillRow(id=drill_id, account_id=account_id, day=hers.today, made_at=at))
    db.flush()
    for place, pair_id in enumerate(pair_id for pair_id in chosen for _ in range(in_words.DESCRIPTIONS)):
        lore = hers.lores[pair_id]
        form = dice.choice((lore.pair.first, lore.pair.second))
        row = DescriptionRow(drill_id=drill_id, account_id=account_id, place=place, pair_id=pair_id, form_id=form.id)
        row.catalogue_id, row.told = hers.catalogues[pair_id], [list(one) for one in in_words.describe(lore, form.id, dice=dice)]
        db.add(row)
    db.flush()
    return drill_id


def the_word_drill(db: Session, account_id: int, drill_id: str, *, now: datetime) -> WordDrillPage:
    """Return a drill in words of a learner's as it stands; raises NotFound where it is none of hers.

    A bird whose pair or traits the catalogue no longer tells is passed over.
    """
    rows = _the_rows(db, account_id, drill_id)
    lores = _lores(db, account_id, {row.pair_id: row.catalogue_id for row in rows}, shown={row.form_id for row in rows})
    birds = [bird for row in rows if (bird := _bird(row, lores.get(row.pair_id))) is not None]
    asked = next((bird for bird in birds if bird.truth is None), None)
    answered = tuple(bird for bird in birds if bird.truth is not None)
    hers = _hers(db, account_id, now=now)
    is_new = asked is not None and asked.pair.id not in {one.pair_id for one in hers.rounds}
    back = {} if asked else _back_on(hers)
    pairs = {bird.pair.id: bird.pair for bird in answered}
    return WordDrillPage(
        drill_id=drill_id,
        asked=asked,
        answered=answered,
        of=len(birds),
        meets=_meets(lores[asked.pair.id]) if asked and is_new else (),
        back_on=tuple((pair, back[pair_id]) for pair_id, pair in pairs.items() if pair_id in back),
        banners=banners_of(db, {row.catalogue_id for row in rows}),
    )


def answer_words(db: Session, account_id: int, drill_id: str, description_id: int, said: tuple[int, str], *, at: datetime) -> int:
    """Keep what was said of one bird, a form's id and how sure, and return its place; said again, the first counts.

    Raises
    ------
    NotFound : the drill is none of hers.
    BadAnswer : the bird is none of this drill, the form none of the pair's, or no word for how sure.
    """
    db.execute(select(AccountRow.id).where(AccountRow.id == account_id).with_for_update())
    row = next((one for one in _the_rows(db, account_id, drill_id) if one.id == description_id), None)
    if row is None:
        raise BadAnswer(say("This description is none of this drill. Open the drill again."), field="description")
    form_id, sure = said
    pair = reading_words.forms_of_pair(db, row.pair_id)
    if form_id not in pair:
        raise BadAnswer(say("That form was not among the choices: answer with one of those told."), field="answer")
    if sure not in {one.value for one in Sure}:
        raise BadAnswer(say("Say how sure you are: certain, probable or possible."), field="answer")
    if row.said_form_id is None:
        row.said_form_id, row.sure, row.at = form_id, sure, at
        db.flush()
    return row.place


def _hers(db: Session, account_id: int, *, now: datetime) -> _Hers:
    account = db.get_one(AccountRow, account_id)
    today = local_day(account, now)
    catalogues: dict[int, int] = {}
    for row in reading.taken_pairs(db, account_id, on=today):
        catalogues.setdefault(row.id, row.catalogue_id)
    rounds, parameters = reading_words.rounds_in_words(db, account_id), parameters_of(db, account_id)
    memories = in_words.memories_in_words(rounds, parameters=parameters)
    lores = _lores(db, account_id, catalogues)
    told = [pair_id for pair_id, lore in lores.items() if in_words.can_be_told(lore)]
    return _Hers(account, today, lores, told, catalogues, rounds, memories, parameters)


def _lores(db: Session, account_id: int, catalogues: Mapping[int, int], *, shown: set[int] | None = None) -> dict[int, PairLore]:
    """Return lore by pair, in the order of the pairs given."""
    reader = names_for(db, account_id)
    found: dict[int, PairLore] = {}
    for catalogue_id in dict.fromkeys(catalogues.values()):
        ids = [pair_id for pair_id, its in catalogues.items() if its == catalogue_id]
        found |= lore_of_pairs(db, catalogue_id, ids, as_shown=shown, reader=reader)
    return {pair_id: found[pair_id] for pair_id in catalogues if pair_id in found}


def _back_on(hers: _Hers) -> dict[int, date]:
    """Return on which day each pair that she has met in words comes back, for the pairs that she still drills and that can be told."""
    target, whose = hers.account.target_recall, hers.account.id
    return {
        pair_id: due_day(memory, target_recall=target, account_id=whose, pair_id=pair_id, parameters=hers.parameters)
        for pair_id, memory in hers.memories.items()
        if pair_id in hers.told
    }


def _the_rows(db: Session, account_id: int, drill_id: str) -> Sequence[DescriptionRow]:
    drill = db.get(WordDrillRow, drill_id)
    if drill is None or drill.account_id != account_id:
        raise NotFound(say("There is no such drill in words of yours."))
    return reading_words.descriptions_of(db, drill_id)


def _bird(row: DescriptionRow, lore: PairLore | None) -> Bird | None:
    if lore is None:
        return None
    known = {trait.key: {state.key: state for state in trait.states} for trait in lore.traits}
    told = tuple((lore.trait(key), known[key][state]) for key, state in row.told if state in known.get(key, {}))
    if not told:
        return None
    bird = Bird(row.id, row.place, lore.pair, told)
    if row.said_form_id is None:
        return bird
    said = in_words.what_it_says(lore, [(key, state) for key, state in row.told])
    lines = tuple(SaysLine(lore.trait(s.trait), known[s.trait][s.state], s.first_in_100, s.second_in_100) for s in said)
    return replace(bird, truth=lore.pair.form(row.form_id), said=lore.pair.form(row.said_form_id), sure=row.sure, says=lines)


def _meets(lore: PairLore) -> tuple[TraitLine, ...]:
    told = [worth for worth in order_of_telling(lore) if worth.parts_them][:MOST_MET]
    return tuple(TraitLine(one.trait, worth_in_words(one, misleads=False), one.first_state, one.second_state) for one in told)
