"""One's own picture from far off and as a shape alone: a preview that keeps nothing, and keeping it for drills."""

from __future__ import annotations

from math import isfinite
from typing import Final
from urllib.parse import urlencode

from flask import Response, make_response, redirect, render_template, request, url_for

from drillhall.core.optics import FarView
from drillhall.core.values import Rendition
from drillhall.errors import Invalid
from drillhall.pictures import altering
from drillhall.pictures.altering import FarWish
from drillhall.pictures.renditions import MEDIA_TYPE, MadeSize
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.pictures.sending import PICTURE_HEADERS
from drillhall.web.session import storage, store, the_person
from drillhall.words import say

FIELDS: Final = (
    # name, label, unit, first value, slider's least, most and step
    ("distance", say("Distance"), "m", "100", 10, 1000, 10),
    ("magnification", say("Magnification"), say("times"), "8", 1, 60, 1),
    ("visibility", say("How far one sees that day"), say("km, or nothing in clear air"), "", 1, 50, 1),
    ("length", say("Real length"), "mm", "", 50, 1500, 10),
)


@blueprint.get("/my-pictures/<public_id>/far-off")
def renditions(public_id: str) -> Page:
    """Show one's own picture as from far off, to be tried out, and its shape."""
    return _page(public_id)


@blueprint.get("/my-pictures/<public_id>/far-off/preview")
def preview(public_id: str) -> Response:
    """Send one's own picture as it looks from afar; nothing is kept."""
    wish = _wish()
    with store().look() as db:
        return _sent(altering.far_off(db, storage(), the_person().id, public_id, wish, on=her_day()))


@blueprint.get("/my-pictures/<public_id>/shape/preview")
def preview_shape(public_id: str) -> Response:
    """Send the shape of what one's own picture shows; nothing is kept."""
    with store().look() as db:
        return _sent(altering.shape_only(db, storage(), the_person().id, public_id, on=her_day()))


@blueprint.post("/my-pictures/<public_id>/far-off")
def keep_rendition(public_id: str) -> Page:
    """Keep a picture from far off, or its shape, for drills."""
    me, day, is_shape = the_person().id, her_day(), request.form.get("keep") == "shape"
    rendition = Rendition.SHAPE_ONLY if is_shape else Rendition.FAR_OFF
    try:
        with store().look() as db:
            made = (
                altering.shape_only(db, storage(), me, public_id, on=day)
                if is_shape
                else altering.far_off(db, storage(), me, public_id, _wish(), on=day)
            )
        with store().work() as db:
            altering.keep(db, storage(), me, public_id, made, rendition, on=day)
    except Invalid as error:
        return _page(public_id, error)
    return redirect(_address(public_id, _asked() | {"kept": rendition.value}), code=303)


def _address(public_id: str, asked: dict[str, str]) -> str:
    return f"{url_for('pictures.renditions', public_id=public_id)}?{urlencode(asked)}"


def _asked() -> dict[str, str]:
    return {name: request.values[name].strip()[:20] for name, *_ in FIELDS if name in request.values}


def _wish() -> FarWish:
    """Return what is asked for, or raise Invalid naming the field."""
    said = {name: _number(name, label) for name, label, *_ in FIELDS}
    for name in ("distance", "magnification", "length"):
        if said[name] is None:
            raise Invalid(say("Give distance, magnification and real length: what is left to see hangs on all three."), field=name)
    view = FarView(said["distance"] or 0, said["magnification"] or 0, said["visibility"])
    return altering.check_wish(FarWish(view, said["length"] or 0))


def _number(name: str, label: str) -> float | None:
    typed = _asked().get(name, "").replace(",", ".")
    try:
        number = float(typed) if typed else None
    except ValueError:
        number = float("inf")
    if number is not None and not isfinite(number):
        raise Invalid(say("{label} must be a number, such as 12.5.", label=label), field=name)
    return number


def _sent(made: MadeSize) -> Response:
    response = make_response(made.content)
    response.content_type = MEDIA_TYPE
    response.headers.update(PICTURE_HEADERS)
    response.headers["Cache-Control"] = "private, max-age=60"
    return response


def _page(public_id: str, wrong: Invalid | None = None) -> Page:
    with store().look() as db:
        shown = altering.the_far_off(db, the_person().id, public_id, on=her_day())
    first = {name: first for name, _, _, first, *_ in FIELDS} | {"length": str(shown.length_mm or "")}
    asked = first | _asked()
    told: tuple[str, ...] = ()
    if _asked() and not wrong:
        try:
            told = altering.words_of(_wish())
        except Invalid as error:
            wrong = error
    elif asked["length"] and not wrong:
        return redirect(_address(public_id, asked), code=303)
    page = render_template(
        "pictures/renditions.html", shown=shown, wrong=wrong, asked=asked, told=told, fields=FIELDS, kept=request.args.get("kept", "")
    )
    return (page, 422) if wrong else page
