"""The pages on which a steward writes the pairs of a catalogue, and sees at once what decides and what misleads."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from flask import render_template, request

from drillhall.catalogues.editing import known, things
from drillhall.catalogues.editing.changing import Act, Edit, Opened, Stale, refuse_faults
from drillhall.catalogues.folder import FolderCatalogue, FolderThird
from drillhall.errors import Invalid
from drillhall.web.catalogue.cells import cell_words, read_cells
from drillhall.web.catalogue.room import Page, blueprint, keep, kept, look, typed
from drillhall.web.catalogue.working import Worked, work_out
from drillhall.web.session import store
from drillhall.words import say

MOST_THIRDS: Final = 12
MOST_PERCENT: Final = 10


@blueprint.get("/<key>/pairs/new")
def new_pair(key: str) -> Page:
    """Show the form that pairs two forms."""
    return _new_page(key)


@blueprint.post("/<key>/pairs/new")
def add_pair(key: str) -> Page:
    """Pair two forms."""
    given = typed()
    first, second = given.get("first", ""), given.get("second", "")
    return kept(
        lambda: keep(key, lambda said: things.add_pair(said, first, second), Act("added")),
        lambda **told: _new_page(key, **told),
        "catalogue.pair",
        key=key,
        pair_key=f"{first}:{second}",
    )


@blueprint.get("/<key>/pairs/<pair_key>")
def pair(key: str, pair_key: str) -> Page:
    """Show a pair: what is said of it, how often its forms show what, and what follows from that."""
    return _page(key, pair_key)


@blueprint.post("/<key>/pairs/<pair_key>")
def change_pair(key: str, pair_key: str) -> Page:
    """Change what is said of a pair and of the traits of its two forms."""
    return kept(
        lambda: keep(key, _edit(pair_key, typed()), Act("changed", f"pairs/{pair_key}"), _scope(pair_key)),
        lambda **told: _page(key, pair_key, **told),
        "catalogue.pair",
        key=key,
        pair_key=pair_key,
    )


@blueprint.post("/<key>/pairs/<pair_key>/worked")
def worked_pair(key: str, pair_key: str) -> Page:
    """Work out what decides and what misleads from what was typed; nothing is kept. A script asks for the part alone."""
    worked = _worked_as_typed(look(key), pair_key, _edit)
    if "part" in request.args:
        return render_template("catalogue/worked.html", worked=worked)
    return _page(key, pair_key, worked=worked)


def _worked_as_typed(opened: Opened, pair_key: str, edit: Callable[[str, Mapping[str, str]], Edit]) -> Worked:
    """Work a pair out from what stands in the form; what cannot be meant as it stands is told instead."""
    try:
        said = edit(pair_key, typed())(opened.said)
        refuse_faults(opened.said, said)
        return _worked(opened.id, said, pair_key)
    except Invalid as wrong:
        return Worked(None, wrong=wrong.sentence)


def _edit_table(_: str, given: Mapping[str, str]) -> Edit:
    """Return the change of the table alone: whatever else of a form is wrong, what decides follows from it."""
    cells = read_cells(given)
    return lambda said: things.say_chances(said, cells)


def _edit(pair_key: str, given: Mapping[str, str]) -> Edit:
    share, cells = _read_share(given.get("third_share", "")), read_cells(given)
    rows = ((given.get(f"third.{number}.form", ""), given.get(f"third.{number}.trait", "")) for number in range(MOST_THIRDS))
    thirds = [FolderThird(form, trait) for form, trait in rows if form or trait]
    if any(not third.form or not third.trait for third in thirds):
        raise Invalid(say("A third needs both: the form, and the trait that it shares. Choose the one that is missing."), field="thirds")
    note, neither = given.get("note", "").replace("\r\n", "\n").strip(), "neither" in given

    def edit(said: FolderCatalogue) -> FolderCatalogue:
        changed = things.change_pair(said, pair_key, note=note, neither=neither, third_share=share, thirds=thirds)
        return things.say_chances(changed, cells)

    return edit


def _read_share(value: str) -> float:
    """Return a share from percent; at most one third in ten showings, since more makes people refuse true ones."""
    try:
        percent = float(value.strip()) if value.isascii() else -1.0
    except ValueError:
        percent = -1.0
    if not 0 <= percent <= MOST_PERCENT:
        raise Invalid(
            say("The share of thirds goes from 0 to {most} in 100. Write a number such as 5.", most=MOST_PERCENT),
            field="third_share",
        )
    return percent / 100


def _scope(pair_key: str) -> tuple[str, ...]:
    return (f"pairs/{pair_key}", *(f"forms/{form}/traits" for form in pair_key.split(":")))


def _worked(catalogue_id: int, said: FolderCatalogue, pair_key: str) -> Worked:
    with store().look() as db:
        ids = known.form_ids(db, catalogue_id)
    return work_out(said, things.the_thing(said.pairs, pair_key, "pair"), ids)


def _new_page(key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    return render_template("catalogue/new_pair.html", key=key, said=look(key).said, wrong=wrong, stale=stale)


def _page(key: str, pair_key: str, *, wrong: Invalid | None = None, stale: Stale | None = None, worked: Worked | None = None) -> str:
    opened = look(key)
    found = things.the_thing(opened.said.pairs, pair_key, "pair")
    if request.method == "POST" and worked is None:
        worked = _worked_as_typed(opened, pair_key, _edit_table)
    return render_template(
        "catalogue/pair.html",
        key=key,
        said=opened.said,
        pair=found,
        forms=[things.the_thing(opened.said.forms, form, "form") for form in found.forms],
        cells=cell_words(opened.said),
        most_thirds=MOST_THIRDS,
        worked=worked or _worked(opened.id, opened.said, pair_key),
        version=opened.version(_scope(pair_key)),
        wrong=wrong,
        stale=stale,
    )
