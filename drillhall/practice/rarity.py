"""A rarity drill: one form of a pair as rare as in the field, after a warm-up at even odds; told of apart from all other practice."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.confusion import Sensitivity, sensitivity
from drillhall.core.reading import COMMONNESS, COMMONNESS_WORDS
from drillhall.core.rounds.rarity import plan_rarity
from drillhall.core.values import Form, Pair, Use
from drillhall.errors import BadAnswer, Conflict, NotFound
from drillhall.practice.cautioning import banners_of
from drillhall.practice.days import local_day
from drillhall.practice.folding import refold_sights
from drillhall.practice.lore import lore_of_forms, lore_of_pairs
from drillhall.practice.packets import PictureView
from drillhall.practice.reader import names_for, reader_of
from drillhall.practice.views import picture_views
from drillhall.store.models.people import AccountRow
from drillhall.store.models.rarity import RarityDrillRow, RarityShowingRow
from drillhall.store.queries import learner as reading
from drillhall.store.queries import sets as reading_sets
from drillhall.words import say

SCARCE: Final = ("scarce", "rare", "very rare")
"""The stewards' words for forms of which an observer may stop thinking."""

UNSAID: Final = "fairly common"
MOST_ODDS: Final = 100

LEAST_PICTURES: Final = 3
"""With fewer pictures of a form she would know each of them again before the warm-up is over."""


@dataclass(frozen=True, slots=True)
class RarityWish:
    """What a learner asks for: the pair, which of its forms is rare, one in how many (2 to 100), and how many pictures at those odds."""

    pair_id: int
    rare_form_id: int
    one_in: int
    showings: int


@dataclass(frozen=True, slots=True)
class RarityEnd:
    """What the second part came to: rare ones found of those shown, common ones called rare of those shown, and both measures apart.

    `told` is None below ten answers a form; its criterion is above 0 for one who says the rare name too seldom.
    """

    found: int
    rare: int
    called_rare: int
    common: int
    told: Sensitivity | None


@dataclass(frozen=True, slots=True)
class RarityPage:
    """A rarity drill as it stands: the picture asked for now (None once it is over), and the last one where she is told of it.

    `number` of `of` pictures; `told`: (what it was, whether she said so) of the picture before, in the warm-up alone.
    """

    drill_id: str
    pair: Pair
    rare: Form
    common: Form
    one_in: int
    showing_id: int | None
    picture: PictureView | None
    warms_up: bool
    number: int
    of: int
    told: tuple[Form, bool] | None
    end: RarityEnd | None
    pictures: tuple[PictureView, ...]
    banners: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ScarceForm:
    """A form that is scarcer than another of a pair of the set: its stewards' word, and one in how many it is of these two (2 to 100)."""

    form: Form
    common: str
    pair: Pair
    one_in: int


@dataclass(frozen=True, slots=True)
class ScarceForms:
    """The scarce forms of one of her sets, the scarcest first."""

    title: str
    forms: tuple[ScarceForm, ...]
    banners: tuple[str, ...]


def scarce_forms(db: Session, account_id: int, pair_set_id: int, *, now: datetime) -> ScarceForms:
    """Return with which forms of a learner's set a rarity drill makes sense, pair by pair; raises NotFound where the set is none of hers.

    The odds are those of the stewards' words for how common a form is; one without a word is taken as fairly common.
    """
    account = db.get_one(AccountRow, account_id)
    today = local_day(account, now)
    row = next((row for row, _, _ in reading_sets.her_sets(db, account_id, on=today) if row.id == pair_set_id), None)
    if row is None:
        raise NotFound(say("There is no such pair set among yours. Take it from the shelf first."))
    reader = reader_of(account)
    words = lore_of_forms(db, row.catalogue_id, reading_sets.forms_of_set(db, pair_set_id), reader=reader).commonness
    taken = [one.id for one in reading.taken_pairs(db, account_id, on=today) if one.pair_set_id == pair_set_id]
    pairs = [one.pair for one in lore_of_pairs(db, row.catalogue_id, taken, reader=reader).values()]
    found = [
        ScarceForm(form, COMMONNESS_WORDS[words[form.id]], pair, min(MOST_ODDS, round(1 + times)))
        for pair in pairs
        for form in (pair.first, pair.second)
        if words.get(form.id) in SCARCE and (times := _times_scarcer(words, form, pair.other(form.id))) > 1
    ]
    return ScarceForms(row.title, tuple(sorted(found, key=lambda one: (-one.one_in, one.form.name))), banners_of(db, [row.catalogue_id]))


def _times_scarcer(words: Mapping[int, str], form: Form, other: Form) -> float:
    return COMMONNESS[words.get(other.id, UNSAID)] / COMMONNESS[words[form.id]]


def start_rarity(db: Session, account_id: int, wish: RarityWish, *, drill_id: str, at: datetime) -> str:
    """Plan a rarity drill under `drill_id` and return its id.

    Raises
    ------
    NotFound : the pair is in no set of hers, or the form none of the pair's.
    Conflict : a form has too few pictures that she may be shown.
    Invalid : odds or length out of bounds.
    """
    today = local_day(db.get_one(AccountRow, account_id), at)
    taken = next((row for row in reading.taken_pairs(db, account_id, on=today) if row.id == wish.pair_id), None)
    if taken is None or wish.rare_form_id not in (taken.first_form_id, taken.second_form_id):
        raise NotFound(say("There is no such pair in your sets."))
    common_id = taken.first_form_id if wish.rare_form_id == taken.second_form_id else taken.second_form_id
    dice = random.Random(f"{account_id} {drill_id} rarity")
    planned = plan_rarity(rare_id=wish.rare_form_id, common_id=common_id, one_in=wish.one_in, showings=wish.showings, dice=dice)
    shelf = _shelf(db, account_id, taken.catalogue_id, (wish.rare_form_id, common_id), at=at)
    if min(len(pictures) for pictures in shelf.values()) < LEAST_PICTURES:
        raise Conflict(
            say(
                "There are too few pictures of these two that you may be shown: a rarity drill needs {least_pictures} of either form.",
                least_pictures=LEAST_PICTURES,
            )
        )
    for pictures in shelf.values():
        dice.shuffle(pictures)
    row = RarityDrillRow(id=drill_id, account_id=account_id, pair_id=wish.pair_id, catalogue_id=taken.catalogue_id, made_at=at)
    row.rare_form_id, row.one_in = wish.rare_form_id, wish.one_in
    db.add(row)
    db.flush()
    turns = dict.fromkeys(shelf, 0)
    for place, one in enumerate(planned):
        pictures = shelf[one.form_id]
        picture_id = pictures[turns[one.form_id] % len(pictures)]
        turns[one.form_id] += 1
        showing = RarityShowingRow(drill_id=drill_id, account_id=account_id, place=place, picture_id=picture_id, form_id=one.form_id)
        showing.feedback = one.feedback
        db.add(showing)
    db.flush()
    return drill_id


def the_rarity(db: Session, account_id: int, drill_id: str, *, now: datetime) -> RarityPage:
    """Return a rarity drill of a learner's as it stands; raises NotFound where it is none of hers.

    A picture that may no longer be shown, or has been relabelled, is passed over and counts for nothing.
    """
    drill, showings = _the_rows(db, account_id, drill_id)
    pair = lore_of_pairs(db, drill.catalogue_id, [drill.pair_id], reader=names_for(db, account_id))[drill.pair_id].pair
    shelf = _shelf(db, account_id, drill.catalogue_id, (pair.first.id, pair.second.id), at=now)
    counted = [row for row in showings if row.said_form_id is not None or row.picture_id in shelf[row.form_id]]
    asked = next((row for row in counted if row.said_form_id is None), None)
    answered = [row for row in counted if row.said_form_id is not None]
    last = answered[-1] if answered and answered[-1].feedback else None
    today = local_day(db.get_one(AccountRow, account_id), now)
    shown = {asked.picture_id} if asked else {row.picture_id for row in answered}
    views = picture_views(db, shown, catalogue_id=drill.catalogue_id, viewer_id=account_id, on=today)
    return RarityPage(
        drill_id=drill_id,
        pair=pair,
        rare=pair.form(drill.rare_form_id),
        common=pair.other(drill.rare_form_id),
        one_in=drill.one_in,
        showing_id=asked.id if asked else None,
        picture=views.get(asked.picture_id) if asked else None,
        warms_up=bool(asked and asked.feedback),
        number=len(answered) + 1,
        of=len(counted),
        told=(pair.form(last.form_id), last.said_form_id == last.form_id) if last else None,
        end=None if asked else _end(answered, drill.rare_form_id),
        pictures=() if asked else tuple(views.values()),
        banners=banners_of(db, [drill.catalogue_id]),
    )


def answer_rarity(db: Session, account_id: int, drill_id: str, showing_id: int, said_form_id: int, *, at: datetime) -> None:
    """Keep what was said of one picture; said again, the first counts.

    Raises
    ------
    NotFound : the drill is none of hers.
    BadAnswer : the picture is none of this drill, or the form none of the pair's.
    """
    db.execute(select(AccountRow.id).where(AccountRow.id == account_id).with_for_update())
    _, showings = _the_rows(db, account_id, drill_id)
    row = next((one for one in showings if one.id == showing_id), None)
    if row is None:
        raise BadAnswer(say("This picture is none of this drill. Open the drill again."), field="showing")
    if said_form_id not in {one.form_id for one in showings}:
        raise BadAnswer(say("That form was not among the choices: answer with one of those shown."), field="answer")
    if row.said_form_id is None:
        row.said_form_id, row.at = said_form_id, at
        db.flush()
        refold_sights(db, account_id, [row.picture_id])


def _the_rows(db: Session, account_id: int, drill_id: str) -> tuple[RarityDrillRow, Sequence[RarityShowingRow]]:
    drill = db.get(RarityDrillRow, drill_id)
    if drill is None or drill.account_id != account_id:
        raise NotFound(say("There is no such rarity drill of yours."))
    query = select(RarityShowingRow).where(RarityShowingRow.drill_id == drill_id).order_by(RarityShowingRow.place)
    return drill, db.scalars(query).all()


def _shelf(db: Session, account_id: int, catalogue_id: int, form_ids: tuple[int, int], *, at: datetime) -> Mapping[int, list[int]]:
    """Return the practice pictures of two forms that she may be shown now, those of her own left out: she knows them."""
    today = local_day(db.get_one(AccountRow, account_id), at)
    rows = reading.drillable(db, account_id, catalogue_id=catalogue_id, form_ids=form_ids, use=Use.PRACTICE.value, on=today)
    return {form_id: [one.id for one, _, _ in rows if one.form_id == form_id and one.owner_id != account_id] for form_id in form_ids}


def _end(answered: Sequence[RarityShowingRow], rare_id: int) -> RarityEnd:
    real = [row for row in answered if not row.feedback]
    rare, common = ([row for row in real if (row.form_id == rare_id) is is_rare] for is_rare in (True, False))
    found, called_rare = (sum(row.said_form_id == rare_id for row in rows) for rows in (rare, common))
    told = sensitivity(hits=found, shown_first=len(rare), false_alarms=called_rare, shown_second=len(common))
    return RarityEnd(found, len(rare), called_rare, len(common), told)
