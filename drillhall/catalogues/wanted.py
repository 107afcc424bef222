"""Reads what pictures a catalogue in use still lacks, for its stewards and for those who drill from it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from drillhall.catalogues.stewards import StewardedCatalogue
from drillhall.core.values import Form
from drillhall.core.wanted import Drilled, FormWanted, Held, most_needed_first, wanted_of
from drillhall.errors import NotFound
from drillhall.store.queries import curating as reading
from drillhall.store.queries.curating import DrilledPair
from drillhall.store.queries.learner import hall_misses
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class ViewLacking:
    """A view that a form lacks: its kind as in VIEWS, the word, and the forms it is mixed up with that are seen so."""

    view: str
    word: str
    others: tuple[Form, ...]


@dataclass(frozen=True, slots=True)
class WantedForm:
    """A form of a catalogue, what is wanted of it, and the forms that it is mixed up with."""

    form: Form
    wanted: FormWanted
    views: tuple[ViewLacking, ...]
    others: tuple[Form, ...]


@dataclass(frozen=True, slots=True)
class WantedList:
    """The forms that lack something, the most needed first, and how many forms there are in all."""

    forms: tuple[WantedForm, ...]
    of: int


def the_catalogue_within_sight(db: Session, key: str, account_id: int) -> StewardedCatalogue:
    """Return a catalogue to its stewards and to whoever has taken one of its sets, or raise NotFound, as if it were not there."""
    row = reading.find_within_sight(db, key, account_id)
    if row is None:
        raise NotFound(say("There is no such catalogue, or you have taken none of its pair sets from the shelf."))
    return StewardedCatalogue(row.id, row.key, row.title, row.subject)


def list_wanted(db: Session, catalogue_id: int, *, on: date) -> WantedList:
    """Return what a catalogue lacks among the pictures that others than their owners are shown on a day."""
    forms, pairs = reading.forms_of(db, catalogue_id), reading.pairs_of(db, catalogue_id)
    pairs = [pair for pair in pairs if pair.first_form_id in forms and pair.second_form_id in forms]
    others: dict[int, list[Form]] = defaultdict(list)
    for pair in pairs:
        others[pair.first_form_id].append(forms[pair.second_form_id])
        others[pair.second_form_id].append(forms[pair.first_form_id])
    wanted = wanted_of(
        [str(form_id) for form_id in forms],
        [_keys(pair) for pair in pairs],
        _held(db, catalogue_id, on),
        drilled=_drilled(db, pairs),
    )
    needed = tuple(_with_names(one, forms, others[int(one.form)]) for one in most_needed_first(wanted))
    return WantedList(needed, of=len(forms))


def _held(db: Session, catalogue_id: int, on: date) -> list[Held]:
    return [
        Held(str(form_id), use, {"orientation": orientation, "pose": pose, "plumage": plumage, "setting": setting}, count)
        for form_id, use, orientation, pose, plumage, setting, count in reading.held_views(db, catalogue_id, on=on)
    ]


def _drilled(db: Session, pairs: Iterable[DrilledPair]) -> dict[tuple[str, str], Drilled]:
    """Return how often each pair was shown and missed by all learners, ever."""
    by_id = {pair.id: pair for pair in pairs}
    counts: dict[tuple[str, str], Drilled] = {}
    for (pair_id, _), (missed, shown) in hall_misses(db, by_id, since_week=0).items():
        key = _keys(by_id[pair_id])
        before = counts.get(key, Drilled())
        counts[key] = Drilled(before.missed + missed, before.shown + shown)
    return counts


def _keys(pair: DrilledPair) -> tuple[str, str]:
    return str(pair.first_form_id), str(pair.second_form_id)


def _with_names(wanted: FormWanted, forms: dict[int, Form], others: Iterable[Form]) -> WantedForm:
    seen: dict[tuple[str, str], list[Form]] = defaultdict(list)
    for one in wanted.views:
        for word in one.words:
            seen[one.view, word].append(forms[int(one.other)])
    views = tuple(ViewLacking(view, word, tuple(alike)) for (view, word), alike in seen.items())
    return WantedForm(forms[int(wanted.form)], wanted, views, tuple(others))
