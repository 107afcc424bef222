"""The pages on which a steward puts pairs into sets, in stages from easy to hard."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any, Final

from flask import render_template, request

from drillhall.catalogues.editing import asked, known, things
from drillhall.catalogues.editing.changing import Act, Opened, Stale
from drillhall.catalogues.editing.telling import form_of, lore_of
from drillhall.catalogues.folder import FolderSet, FolderStage
from drillhall.catalogues.names import Names
from drillhall.core.stages import suggest_stages
from drillhall.core.terms import DISTANCES
from drillhall.errors import Invalid
from drillhall.practice.at_hand import pictures_at_hand
from drillhall.practice.in_use import groups_using
from drillhall.web.catalogue.resting import lacking_pairs
from drillhall.web.catalogue.room import Page, blueprint, her_day, keep, kept, look, typed
from drillhall.web.session import store, the_person
from drillhall.words import say

MOST_STAGES: Final = 8


@blueprint.get("/<key>/sets/new")
def new_set(key: str) -> Page:
    """Show the form that makes a pair set."""
    return _page(key, "")


@blueprint.post("/<key>/sets/new")
def add_set(key: str) -> Page:
    """Make a pair set."""
    return kept(lambda: _write(key, ""), lambda **told: _page(key, "", **told), "catalogue.catalogue", key=key, _anchor="sets")


@blueprint.get("/<key>/sets/<set_key>")
def pair_set(key: str, set_key: str) -> Page:
    """Show a pair set with its stages, to be changed."""
    return _page(key, set_key)


@blueprint.post("/<key>/sets/<set_key>")
def change_set(key: str, set_key: str) -> Page:
    """Change a pair set and its stages."""
    where = {"key": key, "set_key": set_key}
    return kept(lambda: _write(key, set_key), lambda **told: _page(key, set_key, **told), "catalogue.pair_set", **where)


def _write(key: str, set_key: str) -> None:
    given, opened = typed(), look(key)
    values, stages = asked.read_asked(asked.SET, given), read_stages(opened, given)
    with store().look() as db:
        used = known.used_keys(db, opened.id, "sets")
    act = Act("changed", f"sets/{set_key}") if set_key else Act("added")
    keep(key, lambda said: things.write_set(said, set_key, values, stages, taken=used), act, (f"sets/{set_key}",) if set_key else ())


def read_stages(opened: Opened, given: Mapping[str, str]) -> tuple[FolderStage, ...]:
    """Return the stages that were typed: each pair says in which it stands and at which place; a stage without pairs is none.

    A pair may stand in several, such as 1, 3, where those hold different pictures. A stage or place that is no number of one is refused.
    """
    beneath: dict[int, list[tuple[int, int, tuple[str, str]]]] = defaultdict(list)
    names = Names(opened.said)
    for order, pair in enumerate(opened.said.pairs):
        numbers, places = _numbers(given.get(f"stage.{pair.key}", "")), _numbers(given.get(f"place.{pair.key}", ""))
        if not all(0 < number <= MOST_STAGES for number in numbers) or 0 in places:
            raise Invalid(
                say(
                    "{pair}: a stage is a number from 1 to {most}, a place any number from 1; several have commas between. Empty, the pair "
                    "stays out of the set.",
                    pair=names.pair(pair.forms),
                    most=MOST_STAGES,
                ),
                field="pairs",
            )
        for turn, stage in enumerate(numbers):
            beneath[stage].append((places[turn] if turn < len(places) else MOST_STAGES * 1000, order, pair.forms))
    stages = []
    for number in sorted(beneath):
        title = given.get(f"title.{number}", "").strip()
        if not title or len(title) > asked.LINE:
            raise Invalid(
                say("Stage {number} holds pairs and needs a title of at most {most} letters.", number=number, most=asked.LINE),
                field="stages",
            )
        poses = tuple(dict.fromkeys(asked.read_words(given.get(f"poses.{number}", ""))))
        distances = tuple(word for word in DISTANCES if f"{word}.{number}" in given)
        stages.append(FolderStage(title, tuple(forms for _, _, forms in sorted(beneath[number])), poses, distances))
    return tuple(stages)


def _numbers(typed: str) -> list[int]:
    """Return the numbers typed with commas between, 0 for what is none."""
    words = [word.strip() for word in typed.split(",")] if typed.strip() else []
    return [int(word) if word.isascii() and word.isdigit() and len(word) < 4 else 0 for word in words]


def _rows(titles: Mapping[int, str]) -> int:
    """Return for how many stages the form has a title: two more than there are, and as many as pairs were just put into."""
    put = [number for name, value in request.form.items() if name.startswith("stage.") for number in _numbers(value)]
    return max(min(MOST_STAGES, len(titles) + 2), *(number for number in put if number <= MOST_STAGES), 0)


def _page(key: str, set_key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    opened = look(key)
    found = things.the_thing(opened.said.sets, set_key, "pair set") if set_key else FolderSet("", "", ())
    lacking = lacking_pairs(opened.said, found)
    with store().look() as db:
        ids = known.form_ids(db, opened.id)
        short = {ids[key] for one in lacking for _, keys in one.stages for key in keys}
        used = groups_using(db, opened.id, person_id=the_person().id, on=her_day(), set_key=set_key) if set_key else None
        at_hand = pictures_at_hand(db, opened.id, short, viewer_id=the_person().id, on=her_day())
    forms = {form.key: form_of(opened.said, form, ids[form.key]) for form in opened.said.forms}
    return render_template(
        "catalogue/set.html",
        key=key,
        said=opened.said,
        set=found,
        fields=asked.SET,
        forms=forms,
        distances=DISTANCES,
        poses=sorted({picture.pose.casefold() for picture in opened.said.pictures if picture.pose}),
        lacking=lacking,
        at_hand=at_hand,
        used=used,
        version=opened.version((f"sets/{set_key}",)),
        wrong=wrong,
        stale=stale,
        **_filled(opened, found, ids),
    )


def _filled(opened: Opened, found: FolderSet, ids: Mapping[str, int]) -> dict[str, Any]:
    """Return the titles of stages and the place of each pair to fill the form with: as they stand, or as they are suggested."""
    if "suggested" in request.args:
        lores = [(pair.key, lore_of(opened.said, pair, ids)) for pair in opened.said.pairs]
        stages = [(one.title, one.keys) for one in suggest_stages(lores)]
    else:
        stages = [(one.title, tuple(":".join(forms) for forms in one.pairs)) for one in found.stages]
    stands: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for number, (_, keys) in enumerate(stages, 1):
        for place, key in enumerate(keys, 1):
            stands[key].append((number, place))
    places = {key: [", ".join(map(str, numbers)) for numbers in zip(*at, strict=True)] for key, at in stands.items()}
    held = dict(enumerate(found.stages, 1))
    titles = {number: title for number, (title, _) in enumerate(stages, 1)}
    return {"titles": titles, "rows": _rows(titles), "places": places, "held": held}
