"""The page on which a steward says how the concepts of a catalogue lie to those of other lists."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, request, url_for

from drillhall.acts.join_concepts import say_of_concepts, unsay_of_concepts, would_join
from drillhall.catalogues.editing import asked, mapping
from drillhall.catalogues.editing.changing import Seen, Stale
from drillhall.errors import Invalid
from drillhall.web.catalogue.room import Page, blueprint, kept, look, typed
from drillhall.web.forms import text
from drillhall.web.session import now, store, the_person

SCOPE = ("mappings",)
NAMES = ("subject", "relation", "object", "according_to")


@blueprint.get("/<key>/concepts")
def concepts(key: str) -> Page:
    """Show how the concepts of a catalogue are said to lie to others."""
    return _page(key)


@blueprint.post("/<key>/concepts")
def say_concepts(key: str) -> Page:
    """Say how two concepts lie to each other; where that makes one of two that were learnt apart, show first what follows."""
    try:
        is_said = _say(key)
    except Stale as stale:
        return _page(key, stale=stale), 409
    except Invalid as wrong:
        return _page(key, wrong=wrong), 422
    return redirect(url_for("catalogue.concepts", key=key) if is_said else _join_url(key), code=303)


@blueprint.get("/<key>/concepts/join")
def join(key: str) -> Page:
    """Show what becomes one if two concepts are said to have the same boundary, before that is done."""
    with store().look() as db:
        values = asked.read_asked(mapping.asked_of(look(key).said), {name: request.args.get(name, "") for name in NAMES})
        found = would_join(db, key, values, by=the_person().id)
    if found is None:
        return redirect(url_for("catalogue.concepts", key=key), code=303)
    opened = look(key)
    return render_template("catalogue/join.html", key=key, said=opened.said, found=found, values=values, version=opened.version(SCOPE))


@blueprint.post("/<key>/concepts/drop")
def drop_concepts(key: str) -> Page:
    """Take out what is said of two concepts; two that became one by it are two again."""
    subject, other = text("subject", most=400), text("object", most=400)
    return kept(lambda: _unsay(key, subject, other), lambda **told: _page(key, **told), "catalogue.concepts", key=key)


def _say(key: str) -> bool:
    seen, is_foreseen = Seen(SCOPE, text("version", most=40)), text("foreseen", most=4) == "yes"
    values = asked.read_asked(mapping.asked_of(look(key).said), typed())
    with store().work() as db:
        return say_of_concepts(db, key, values, seen, by=the_person().id, at=now(), is_foreseen=is_foreseen)


def _unsay(key: str, subject: str, other: str) -> None:
    with store().work() as db:
        unsay_of_concepts(db, key, subject, other, by=the_person().id, at=now())


def _join_url(key: str) -> str:
    asked_for: dict[str, Any] = {name: text(name, most=400) for name in NAMES}
    return url_for("catalogue.join", key=key, **asked_for)


def _page(key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    opened = look(key)
    return render_template(
        "catalogue/concepts.html",
        key=key,
        said=opened.said,
        told=mapping.list_mappings(opened.said),
        fields=mapping.asked_of(opened.said),
        version=opened.version(SCOPE),
        wrong=wrong,
        stale=stale,
    )
