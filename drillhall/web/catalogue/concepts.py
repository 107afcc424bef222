"""The page on which a steward says how the concepts of a catalogue lie to those of other lists."""

from __future__ import annotations

from flask import render_template

from drillhall.catalogues.editing import asked, mapping
from drillhall.catalogues.editing.changing import Act, Stale
from drillhall.errors import Invalid
from drillhall.web.catalogue.room import Page, blueprint, keep, kept, look, typed
from drillhall.web.forms import text

SCOPE = ("mappings",)
ACT = Act("changed", "how concepts lie to each other")


@blueprint.get("/<key>/concepts")
def concepts(key: str) -> Page:
    """Show how the concepts of a catalogue are said to lie to others."""
    return _page(key)


@blueprint.post("/<key>/concepts")
def say_concepts(key: str) -> Page:
    """Say how two concepts lie to each other."""
    return kept(lambda: _say(key), lambda **told: _page(key, **told), "catalogue.concepts", key=key)


@blueprint.post("/<key>/concepts/drop")
def drop_concepts(key: str) -> Page:
    """Take out what is said of two concepts."""
    subject, other = text("subject", most=400), text("object", most=400)
    return kept(
        lambda: keep(key, lambda said: mapping.drop_mapping(said, subject, other), ACT),
        lambda **told: _page(key, **told),
        "catalogue.concepts",
        key=key,
    )


def _say(key: str) -> None:
    values = asked.read_asked(mapping.asked_of(look(key).said), typed())
    keep(key, lambda said: mapping.say_mapping(said, values), ACT, SCOPE)


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
