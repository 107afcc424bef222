"""Marks on a picture, drawn or typed by its owner or by a steward, and the files of open standards that tell them."""

from __future__ import annotations

from flask import Response, make_response, redirect, render_template, request, url_for

from drillhall.core.regions import Region
from drillhall.errors import Invalid
from drillhall.pictures import marks
from drillhall.web import forms
from drillhall.web.pictures.framing import SIDES, typed_region
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.session import storage, store, the_person
from drillhall.words import say


@blueprint.get("/my-pictures/<public_id>/marks")
def marking(public_id: str) -> Page:
    """Show a picture with its marks, and let another be drawn or typed."""
    return _page(public_id)


@blueprint.post("/my-pictures/<public_id>/marks")
def set_mark(public_id: str) -> Page:
    """Keep a mark that was drawn or typed."""
    try:
        region = typed_region("region")
        with store().work() as db:
            marks.set_mark(db, storage(), the_person().id, public_id, trait_id=_typed_trait(), region=region, on=her_day())
    except Invalid as error:
        return _page(public_id, error), 422
    return redirect(url_for("pictures.marking", public_id=public_id, kept="mark"), code=303)


@blueprint.post("/my-pictures/<public_id>/marks/<int:mark_id>/remove")
def remove_mark(public_id: str, mark_id: int) -> Page:
    """Take a mark away."""
    with store().work() as db:
        marks.remove_mark(db, storage(), the_person().id, public_id, mark_id, on=her_day())
    return redirect(url_for("pictures.marking", public_id=public_id, kept="removed"), code=303)


@blueprint.get("/my-pictures/<public_id>/marks/regions.csv", endpoint="regions")
def send_regions(public_id: str) -> Response:
    """Send the marks as a table of Audiovisual Core regions."""
    with store().look() as db:
        told = marks.regions_file(db, the_person().id, public_id, address=_address(public_id), on=her_day())
    return _file(told, "text/csv; charset=utf-8", "roi.csv")


@blueprint.get("/my-pictures/<public_id>/marks/annotations.jsonld", endpoint="annotations")
def send_annotations(public_id: str) -> Response:
    """Send the marks as W3C Web Annotations."""
    with store().look() as db:
        told = marks.annotations_file(db, the_person().id, public_id, address=_address(public_id), on=her_day())
    profile = 'application/ld+json; profile="http://www.w3.org/ns/anno.jsonld"'
    return _file(told, profile, "annotations.jsonld")


def _address(public_id: str) -> str:
    return url_for("pictures.picture", public_id=public_id, _external=True)


def _file(content: str, media_type: str, name: str) -> Response:
    response = make_response(content)
    response.content_type = media_type
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _typed_trait() -> int | None:
    return forms.chosen("trait", say("What it shows")) if forms.text("trait", most=20) else None


def _page(public_id: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        shown = marks.the_marking(db, the_person().id, public_id, on=her_day())
    start = Region(0.375, 0.375, 0.25, 0.25)
    return render_template("pictures/marking.html", shown=shown, wrong=wrong, sides=SIDES, start=start, kept=request.args.get("kept", ""))
