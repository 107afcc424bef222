"""The frame of one's own picture: the rectangle that is cut out of it, or zoomed in on where its licence forbids a cut."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.core.regions import Region
from drillhall.errors import Invalid
from drillhall.pictures import framing as frames
from drillhall.web import forms
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.session import storage, store, the_person
from drillhall.words import say

SIDES = (
    ("left", say("Left", ctx="edge of a rectangle")),
    ("top", say("Top", ctx="edge of a rectangle")),
    ("width", say("Width")),
    ("height", say("Height")),
)


@blueprint.get("/my-pictures/<public_id>/frame")
def framing(public_id: str) -> Page:
    """Show one's own picture with its frame, to be drawn or typed."""
    return _page(public_id)


@blueprint.post("/my-pictures/<public_id>/frame")
def set_frame(public_id: str) -> Page:
    """Keep the frame that was drawn or typed, or show the picture whole again."""
    me = the_person().id
    try:
        frame = None if forms.ticked("whole") else typed_region("frame")
        with store().look() as db:
            new = frames.make_cut(db, storage(), me, public_id, frame, on=her_day())
        with store().work() as db:
            frames.set_frame(db, storage(), me, public_id, new)
    except Invalid as error:
        return _page(public_id, error), 422
    return redirect(url_for("pictures.framing", public_id=public_id, kept="frame" if frame else "whole"), code=303)


def typed_region(field: str) -> Region:
    """Return the rectangle that four fields say in percent; whether it lies on the picture is judged elsewhere."""
    try:
        left, top, width, height = (forms.decimal(name, label) / 100 for name, label in SIDES)
    except Invalid as error:
        raise Invalid(say("{sentence} It counts in percent of the picture.", sentence=error.sentence), field=error.field) from error
    # Two fields rounded to a tenth may together reach a hair beyond the edge.
    width, height = (1 - at if at < 1 and 0 < at + side - 1 < 0.00151 else side for at, side in ((left, width), (top, height)))
    return Region(left, top, width, height)


def _page(public_id: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        shown = frames.the_framing(db, the_person().id, public_id, on=her_day())
    return render_template("pictures/framing.html", shown=shown, wrong=wrong, sides=SIDES, kept=request.args.get("kept", ""))
