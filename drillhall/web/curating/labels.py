"""Corrected labels of a catalogue's pictures: the list with its undo, and correcting one."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.acts.correct_label import correct_label, undo_correction, what_would_change
from drillhall.catalogues.stewards import the_stewarded_catalogue
from drillhall.errors import Invalid
from drillhall.pictures import labels as labelling
from drillhall.pictures.curated import pictures_to_name_anew
from drillhall.web import forms, labelled
from drillhall.web.curating.room import Page, blueprint, her_day
from drillhall.web.session import now, store, the_person


@blueprint.get("/labels")
def labels(key: str) -> Page:
    """List what a split leaves to be named anew, and the corrections of a catalogue's pictures."""
    me = the_person().id
    with store().look() as db:
        catalogue = the_stewarded_catalogue(db, key, me)
        changes = labelling.list_changes(db, catalogue_id=catalogue.id)
        anew = pictures_to_name_anew(db, catalogue.id, me, on=her_day())
    return render_template("curating/labels.html", catalogue=catalogue, changes=changes, anew=anew, told=labelled.told())


@blueprint.route("/labels/<public_id>", methods=["GET", "POST"])
def correct(key: str, public_id: str) -> Page:
    """Show what a correction would have judged anew, and make it."""
    if request.method == "GET":
        return _page(key, public_id)
    me = the_person().id
    try:
        label, note = labelled.typed_label(), forms.text("note")
        with store().work() as db:
            picture_id = labelling.the_held_picture(db, the_stewarded_catalogue(db, key, me).id, public_id)
            labelling.check_answers_for(db, picture_id, me)
            done = correct_label(db, picture_id, label, by=me, at=now(), note=note)
    except Invalid as error:
        return _page(key, public_id, error), 422
    return redirect(url_for("curating.labels", key=key, **labelled.tell(done)), code=303)


@blueprint.post("/labels/<public_id>/<int:change_id>/undo")
def undo_label(key: str, public_id: str, change_id: int) -> Page:
    """Undo a correction."""
    me = the_person().id
    with store().work() as db:
        picture_id = labelling.the_held_picture(db, the_stewarded_catalogue(db, key, me).id, public_id)
        labelling.check_answers_for(db, picture_id, me)
        done = undo_correction(db, change_id, picture_id=picture_id, by=me, at=now())
    return redirect(url_for("curating.labels", key=key, **labelled.tell(done)), code=303)


def _page(key: str, public_id: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        catalogue = the_stewarded_catalogue(db, key, the_person().id)
        picture_id = labelling.the_held_picture(db, catalogue.id, public_id)
        label, would = labelling.the_label(db, picture_id), what_would_change(db, picture_id)
        picture, known = labelling.the_labelled(db, picture_id, on=her_day()), labelling.list_forms(db, catalogue.id)
    return render_template(
        "curating/correct.html", catalogue=catalogue, picture=picture, label=label, would=would, known=known, wrong=wrong
    )
