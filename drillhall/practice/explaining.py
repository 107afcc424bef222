"""Says what decides: the explanation of one picture, and the meeting with a pair, from lore and portraits."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType

from sqlalchemy.orm import Session

from drillhall.core.measure_words import cut_in_words, measure_in_words
from drillhall.core.measure_worth import MeasureWorth, measured_worths
from drillhall.core.traits import TraitWorth, deciding, likeliest, misleading, order_of_telling
from drillhall.core.values import Form, Mark, PairLore, Rendition, Use
from drillhall.errors import NotFound
from drillhall.practice.cautioning import banners_of, cautions_of
from drillhall.practice.days import local_day
from drillhall.practice.lore import has_retired_traits, lore_of_pairs
from drillhall.practice.packets import CloseUp, Explained, MeasureTold, Meeting, PictureView, TraitTold
from drillhall.practice.reader import reader_of
from drillhall.practice.views import views_in_renditions
from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.models.people import AccountRow
from drillhall.store.queries import learner as reading
from drillhall.words import Said, say, within


@dataclass(frozen=True, slots=True)
class Portraits:
    """The pictures that stand for forms, by form id, in a steady order; `form_ids` are those of which they have been looked for."""

    by_form: Mapping[int, Sequence[PictureView]]
    form_ids: Set[int] = frozenset()

    def of(self, form_id: int, *, trait: str = "", turn: int = 0) -> PictureView | None:
        """Return a portrait of a form, one on which the trait is marked if there is any; `turn` takes them by turns."""
        pictures = self.by_form.get(form_id, ())
        fitting = [picture for picture in pictures if trait in picture.marks] or list(pictures)
        return fitting[turn % len(fitting)] if fitting else None


@dataclass(frozen=True, slots=True)
class KnownPair:
    """What has been read of a pair that was shown, by which catalogue, with portraits of all its forms."""

    lore: PairLore
    portraits: Portraits
    catalogue_id: int


def the_portraits(db: Session, account_id: int, catalogue_id: int, form_ids: set[int], *, on: date) -> Portraits:
    """Return the portraits of some forms that the learner may be shown."""
    rows = reading.drillable(db, account_id, catalogue_id=catalogue_id, form_ids=form_ids, use=Use.PORTRAIT.value, on=on)
    wanted, known = {(picture.id, Rendition.AS_TAKEN) for picture, _, _ in rows}, [(picture, rights) for picture, rights, _ in rows]
    views = views_in_renditions(db, wanted, catalogue_id=catalogue_id, viewer_id=account_id, on=on, known=known)
    by_form: dict[int, list[PictureView]] = {}
    for picture, _ in known:
        if picture.form_id is not None and (view := views.get((picture.id, Rendition.AS_TAKEN))):
            by_form.setdefault(picture.form_id, []).append(view)
    return Portraits(by_form, form_ids)


def explained(lore: PairLore, truth: Form, picture: PictureView, portraits: Portraits, *, turn: int = 0) -> Explained:
    """Explain a picture: the trait that decides on it, seen on the picture itself and on a portrait of the other form.

    On a third, the pair's misleading trait is told instead, and both sides are portraits.
    """
    pair = lore.pair
    is_third = truth.id not in (pair.first.id, pair.second.id)
    worth = _misleads_to(lore, truth.id) if is_third else deciding(lore, picture.shows)
    sides = [_side(lore, worth, form, picture if form.id == truth.id else None, portraits, turn) for form in (pair.first, pair.second)]
    return Explained(
        truth=truth,
        trait=worth.trait if worth else None,
        decides=worth.decides if worth else False,
        first=sides[0],
        second=sides[1],
        mark=picture.marks.get(worth.trait.key) if worth else None,
        third=_side(lore, worth, truth, picture, portraits) if is_third else None,
    )


def hint_for(lore: PairLore, picture: PictureView) -> tuple[str, Mark | None]:
    """Return where to look on a picture: a sentence that names the trait and no state, and the region to ring."""
    worth = deciding(lore, picture.shows)
    if worth is None:
        return say("No trait that parts these two can be seen here. Take in the whole of it."), None
    return say("Look here: {trait}.", trait=within(worth.trait.label)), picture.marks.get(worth.trait.key)


def the_meeting(db: Session, account_id: int, pair_id: int, *, now: datetime) -> Meeting:
    """Return what there is to see and say of a pair when it is met.

    Raises NotFound where the pair is in no set of the learner's.
    """
    return list_meetings(db, account_id, [pair_id], now=now)[pair_id]


def list_meetings(
    db: Session, account_id: int, pair_ids: Collection[int], *, now: datetime, known: Mapping[int, KnownPair] = MappingProxyType({})
) -> dict[int, Meeting]:
    """Return the meetings with some pairs, by pair, in as many statements as one pair of each catalogue takes.

    `known` has been read by pair, and is not read again where the same would come of it.
    Raises NotFound where one of the pairs is in no set of the learner's.
    """
    account = db.get_one(AccountRow, account_id)
    today = local_day(account, now)
    taken = {row.id: row.catalogue_id for row in reversed(reading.taken_pairs(db, account_id, on=today))} if pair_ids else {}
    if not taken.keys() >= set(pair_ids):
        raise NotFound(say("There is no such pair in your sets."))
    found: dict[int, Meeting] = {}
    for catalogue_id in sorted({taken[pair_id] for pair_id in pair_ids}):
        here = [pair_id for pair_id in pair_ids if taken[pair_id] == catalogue_id]
        # The drill may have shown a pair by another catalogue than the one whose set she has now.
        read = {pair_id: known[pair_id] for pair_id in here if pair_id in known and known[pair_id].catalogue_id == catalogue_id}
        lores = _lores_read(db, catalogue_id, here, read) or lore_of_pairs(db, catalogue_id, here, reader=reader_of(account))
        every = {form_id for lore in lores.values() for form_id in lore.forms}
        portraits = next((one.portraits for one in read.values()), None)
        if portraits is None or not every <= portraits.form_ids:
            portraits = the_portraits(db, account_id, catalogue_id, every, on=today)
        list_name = db.get_one(CatalogueRow, catalogue_id).list_name
        warned = banners_of(db, [catalogue_id]), cautions_of(db, [catalogue_id], "print")
        found |= {pair_id: _meeting(lore, portraits, list_name, *warned) for pair_id, lore in lores.items()}
    return found


def _lores_read(db: Session, catalogue_id: int, pair_ids: Collection[int], read: Mapping[int, KnownPair]) -> dict[int, PairLore]:
    """Return what has been read of some pairs, or nothing where it is not what their meeting tells: that has no trait or state retired."""
    if not all(pair_id in read for pair_id in pair_ids) or has_retired_traits(db, catalogue_id):
        return {}
    return {pair_id: read[pair_id].lore for pair_id in pair_ids}


def _meeting(lore: PairLore, portraits: Portraits, list_name: str, banners: tuple[str, ...], on_print: tuple[str, ...]) -> Meeting:
    pair, forms = lore.pair, lore.forms
    told = [worth for worth in order_of_telling(lore) if worth.parts_them or worth.misleads]
    misleads = {worth.trait.key for worth in misleading(lore)}
    return Meeting(
        pair=pair,
        note=lore.note,
        note_language=lore.note_language,
        first=CloseUp(pair.first, portraits.of(pair.first.id), None, ""),
        second=CloseUp(pair.second, portraits.of(pair.second.id), None, ""),
        traits=tuple(_told(worth, worth.trait.key in misleads, lore, forms, portraits) for worth in told),
        list_name=list_name,
        banners=banners,
        on_print=on_print,
        measures=tuple(_measured(worth) for worth in measured_worths(lore)),
    )


def _measured(worth: MeasureWorth) -> MeasureTold:
    first, second = (measure_in_words(one, worth.trait.unit) for one in (worth.first, worth.second))
    return MeasureTold(worth.trait.label, first, second, cut_in_words(worth), is_weak=not worth.tells)


def _told(worth: TraitWorth, misleads: bool, lore: PairLore, forms: Mapping[int, Form], portraits: Portraits) -> TraitTold:
    pair = lore.pair
    return TraitTold(
        trait=worth.trait,
        worth=worth_in_words(worth, misleads=misleads),
        misleads=misleads,
        first=_side(lore, worth, pair.first, None, portraits),
        second=_side(lore, worth, pair.second, None, portraits),
        thirds=tuple(_side(lore, worth, forms[form_id], None, portraits) for form_id in worth.third_ids if form_id in forms),
    )


def worth_in_words(worth: TraitWorth, *, misleads: bool) -> Said:
    """Say what a trait is worth: whether it decides, how often a guess by it alone is right, and that others share it."""
    often = _times_in_ten(worth.right_rate)
    if not misleads:
        return say("decides, right {often}", often=often) if worth.decides else say("helps, right {often}", often=often)
    if not worth.parts_them:
        return say("misleads: these two share it, and others do too")
    if worth.decides:
        return say("decides between these two, right {often}; misleads beyond them, for others show it too", often=often)
    return say("helps between these two, right {often}; misleads beyond them, for others show it too", often=often)


def _times_in_ten(rate: float) -> Said:
    return say("nearly always") if rate >= 0.95 else say("{n} times in 10", n=round(rate * 10))


def _misleads_to(lore: PairLore, third_id: int) -> TraitWorth | None:
    return next((worth for worth in misleading(lore) if third_id in worth.third_ids), None)


def _side(lore: PairLore, worth: TraitWorth | None, form: Form, own: PictureView | None, portraits: Portraits, turn: int = 0) -> CloseUp:
    key = worth.trait.key if worth else ""
    picture = own or portraits.of(form.id, trait=key, turn=turn)
    chances = lore.chances.get(form.id, {}).get(key)
    state = likeliest(worth.trait, chances) if worth and chances else None
    mark = picture.marks.get(key) if picture else None
    return CloseUp(form, picture, mark, state.label if state else "", state.language if state else "")
