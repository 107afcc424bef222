"""Correcting what one's own picture is said to show, seeing the corrections, and undoing them."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for

from drillhall.acts.correct_label import correct_label, undo_correction, what_would_change
from drillhall.errors import Invalid
from drillhall.pictures import labels as labelling
from drillhall.pictures.own import list_known_forms
from drillhall.web import forms, labelled
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.session import now, store, the_person


@blueprint.route("/my-pictures/<public_id>/label", methods=["GET", "POST"])
def label(public_id: str) -> Page:
    """Show what one's own picture was said to show and what a correction would have judged anew, and make one."""
    if request.method == "GET":
        return _page(public_id)
    me = the_person().id
    try:
        said, note = labelled.typed_label(), forms.text("note")
        with store().work() as db:
            picture_id = labelling.the_own_picture(db, me, public_id)
            labelling.check_answers_for(db, picture_id, me)
            done = correct_label(db, picture_id, said, by=me, at=now(), note=note)
    except Invalid as error:
        return _page(public_id, error), 422
    return redirect(url_for("pictures.label", public_id=public_id, **labelled.tell(done)), code=303)


@blueprint.post("/my-pictures/<public_id>/label/<int:change_id>/undo")
def undo_label(public_id: str, change_id: int) -> Page:
    """Undo a correction of one's own picture."""
    me = the_person().id
    with store().work() as db:
        picture_id = labelling.the_own_picture(db, me, public_id)
        labelling.check_answers_for(db, picture_id, me)
        done = undo_correction(db, change_id, picture_id=picture_id, by=me, at=now())
    return redirect(url_for("pictures.label", public_id=public_id, **labelled.tell(done)), code=303)


def _page(public_id: str, wrong: Invalid | None = None) -> str:
    me = the_person().id
    with store().look() as db:
        picture_id = labelling.the_own_picture(db, me, public_id)
        picture, would = labelling.the_labelled(db, picture_id, on=her_day()), what_would_change(db, picture_id)
        changes = labelling.list_changes(db, picture_id=picture_id)
        known = tuple(one.form for one in list_known_forms(db, me))
        now_said = labelling.the_label(db, picture_id)
    return render_template(
        "pictures/label.html",
        picture=picture,
        label=now_said,
        would=would,
        changes=changes,
        known=known,
        wrong=wrong,
        told=labelled.told(),
    )
