"""What becomes of things: put in order, retired, told in the history and taken back; and who writes a catalogue."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

from flask import redirect, render_template, request, url_for

from drillhall.acts.join_concepts import part_unsaid
from drillhall.acts.share_catalogue import add_steward_by_name
from drillhall.catalogues.editing import history, making, things
from drillhall.catalogues.editing.changing import Act, the_opened
from drillhall.catalogues.folder import FolderCatalogue
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.people import audit, limits
from drillhall.web.catalogue.room import Page, blueprint, keep, look
from drillhall.web.forms import text, whole
from drillhall.web.session import now, store, the_person
from drillhall.words import say

RETIRE: Final[Mapping[str, Callable[[FolderCatalogue, str], FolderCatalogue]]] = MappingProxyType(
    {"forms": things.retire_form, "traits": things.retire_trait, "pairs": things.retire_pair, "sets": things.retire_set}
)


@blueprint.post("/<key>/things/<part>/<thing>/retire")
def retire(key: str, part: str, thing: str) -> Page:
    """Retire a thing of a catalogue, and what cannot be without it; what was answered on it stays."""
    _refuse_unknown(part)
    keep(key, lambda said: RETIRE[part](said, thing), Act("retired", f"{part}/{thing}"))
    if part == "sets":
        return redirect(url_for("catalogue.catalogue", key=key, retired=thing), code=303)
    return redirect(url_for("catalogue.catalogue", key=key, _anchor=part), code=303)


@blueprint.post("/<key>/things/<part>/<thing>/move")
def move(key: str, part: str, thing: str) -> Page:
    """Move a thing one place earlier or later."""
    _refuse_unknown(part)
    earlier = text("to", most=10) == "earlier"
    keep(key, lambda said: things.move(said, part, thing, earlier=earlier), Act("put in order", f"{part}/{thing}"))
    return redirect(url_for("catalogue.catalogue", key=key, _anchor=part), code=303)


@blueprint.get("/<key>/history")
def changes(key: str) -> Page:
    """Tell who changed what, and when; the latest first."""
    return _history_page(key)


@blueprint.post("/<key>/history/<int:change_id>/undo")
def undo(key: str, change_id: int) -> Page:
    """Take one change back."""
    try:
        with store().work() as db:
            opened = the_opened(db, key, the_person().id, to_write=True)
            history.undo(db, opened, change_id, by=the_person().id, at=now())
            part_unsaid(db, by=the_person().id, at=now())
    except Conflict as wrong:
        return _history_page(key, wrong), 409
    return redirect(url_for("catalogue.changes", key=key), code=303)


@blueprint.get("/<key>/stewards")
def stewards(key: str) -> Page:
    """Show who writes a catalogue."""
    return _stewards_page(key)


@blueprint.post("/<key>/stewards")
def add_steward(key: str) -> Page:
    """Let somebody write a catalogue, by the name of her account; the tries are counted, since each tells whether somebody has it."""
    look(key)
    with store().work() as db:
        limits.spend_try(db, limits.NAME_STEWARD, str(the_person().id), at=now())
    try:
        with store().work() as db:
            opened = the_opened(db, key, the_person().id, to_write=True)
            add_steward_by_name(db, opened, text("name", most=200), by=the_person().id, at=now())
    except (Invalid, Conflict) as wrong:
        return _stewards_page(key, wrong), 409 if isinstance(wrong, Conflict) else 422
    return redirect(url_for("catalogue.stewards", key=key), code=303)


@blueprint.post("/<key>/stewards/end")
def end_steward(key: str) -> Page:
    """End somebody's writing of a catalogue, one's own included; never the last one's."""
    account_id = whole("account", "The account")
    try:
        with store().work() as db:
            opened = the_opened(db, key, the_person().id, to_write=True)
            making.end_stewardship(db, opened, account_id, by=the_person().id, at=now())
            audit.note(db, "steward removed", at=now(), by=the_person().id, subject=f"account {account_id}, {key}")
    except Conflict as wrong:
        return _stewards_page(key, wrong), 409
    is_herself = account_id == the_person().id
    return redirect(url_for("catalogue.catalogues") if is_herself else url_for("catalogue.stewards", key=key), code=303)


@blueprint.post("/<key>/retire")
def retire_whole(key: str) -> Page:
    """Take a catalogue out of use."""
    with store().work() as db:
        opened = the_opened(db, key, the_person().id, to_write=True)
        making.retire_catalogue(db, opened, by=the_person().id, at=now())
    return redirect(url_for("catalogue.catalogues"), code=303)


@blueprint.post("/<key>/take-back")
def take_back(key: str) -> Page:
    """Take a retired catalogue into use again."""
    with store().work() as db:
        making.take_back_catalogue(db, key, by=the_person().id, at=now())
    return redirect(url_for("catalogue.catalogue", key=key), code=303)


def _refuse_unknown(part: str) -> None:
    if part not in RETIRE:
        raise NotFound(say("There is no such part of a catalogue."))


def _history_page(key: str, wrong: Conflict | None = None) -> str:
    page = request.args.get("page", "1")
    if not (page.isascii() and page.isdigit() and len(page) < 7):
        raise NotFound(say("The history has no such page."))
    with store().look() as db:
        opened = the_opened(db, key, the_person().id)
        told = history.list_changes(db, opened, page=int(page))
    return render_template("catalogue/changes.html", key=key, said=opened.said, told=told, wrong=wrong)


def _stewards_page(key: str, wrong: Invalid | Conflict | None = None) -> str:
    opened = look(key)
    with store().look() as db:
        people = making.stewards_of(db, opened.id)
    return render_template("catalogue/stewards.html", key=key, said=opened.said, stewards=people, wrong=wrong)
