"""The pages on which a steward writes the traits of a catalogue with their states."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from flask import render_template

from drillhall.catalogues.editing import asked, known, things
from drillhall.catalogues.editing.changing import Act, Stale
from drillhall.catalogues.folder import FolderTrait
from drillhall.errors import Invalid
from drillhall.web.catalogue.room import Page, blueprint, keep, kept, look, typed
from drillhall.web.session import store
from drillhall.words import say

MOST_STATES: Final = 24
BLANK: Final = 2
"""Rows for new states below those that are there."""


@blueprint.get("/<key>/traits/new")
def new_trait(key: str) -> Page:
    """Show the form that adds a trait."""
    return _new_page(key)


@blueprint.post("/<key>/traits/new")
def add_trait(key: str) -> Page:
    """Add a trait at the end."""
    return kept(lambda: _add(key), lambda **told: _new_page(key, **told), "catalogue.catalogue", key=key, _anchor="traits")


@blueprint.get("/<key>/traits/<trait_key>")
def trait(key: str, trait_key: str) -> Page:
    """Show a trait with its states, to be changed."""
    return _page(key, trait_key)


@blueprint.post("/<key>/traits/<trait_key>")
def change_trait(key: str, trait_key: str) -> Page:
    """Change a trait and its states."""
    where = {"key": key, "trait_key": trait_key}
    return kept(lambda: _change(key, trait_key), lambda **told: _page(key, trait_key, **told), "catalogue.trait", **where)


def read_states(given: Mapping[str, str]) -> tuple[things.SaidState, ...]:
    """Return the states that were typed, in the order that was typed; a row without a word and a key is left out."""
    rows: list[tuple[int, int, things.SaidState]] = []
    for number in range(MOST_STATES):
        row = {name: given.get(f"state.{number}.{name}", "").strip() for name in ("key", "label", "also", "colour", "place")}
        if not (row["key"] or row["label"]) or f"state.{number}.gone" in given:
            continue
        if len(row["label"]) > 120:
            raise Invalid(say("A state's word is too long: 120 letters at most."), field="states")
        place = int(row["place"]) if row["place"].isascii() and row["place"].isdigit() and len(row["place"]) < 4 else number + 1
        said = things.SaidState(row["key"], row["label"], asked.read_words(row["also"]), asked.read_colour(row["colour"]))
        rows.append((place, number, said))
    return tuple(said for _, _, said in sorted(rows, key=lambda row: row[:2]))


def _add(key: str) -> None:
    given = typed()
    values, states = asked.read_asked(asked.TRAIT, given), read_states(given)
    with store().look() as db:
        used = known.used_keys(db, look(key).id, "traits")
    keep(key, lambda said: things.add_trait(said, values, states, taken=used), Act("added"))


def _change(key: str, trait_key: str) -> None:
    given = typed()
    values, states = asked.read_asked(asked.TRAIT, given), read_states(given)
    keep(key, lambda said: things.change_trait(said, trait_key, values, states), Act("changed", f"traits/{trait_key}"), _scope(trait_key))


def _scope(trait_key: str) -> tuple[str, ...]:
    return (f"traits/{trait_key}",)


def _new_page(key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    blank = FolderTrait("", "", "", "", ())
    return _render(key, look(key).said, blank, rows=4, wrong=wrong, stale=stale)


def _page(key: str, trait_key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    opened = look(key)
    found = things.the_thing(opened.said.traits, trait_key, "trait")
    rows = min(MOST_STATES, len(found.states) + BLANK)
    return _render(key, opened.said, found, rows=rows, version=opened.version(_scope(trait_key)), wrong=wrong, stale=stale)


def _render(key: str, said: object, found: FolderTrait, **told: Any) -> str:
    return render_template("catalogue/trait.html", key=key, said=said, trait=found, fields=asked.TRAIT, **told)
