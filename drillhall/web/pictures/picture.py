"""One of somebody's own pictures: all that is known of it, withdrawing it, bringing it back, and letting its files go."""

from __future__ import annotations

from flask import make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from drillhall.errors import BadPicture, Invalid
from drillhall.pictures import whole, withdrawing
from drillhall.web import forms
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.pictures.sending import PICTURE_HEADERS
from drillhall.web.session import now, storage, store, the_person
from drillhall.words import say


@blueprint.get("/my-pictures/<public_id>")
def picture(public_id: str) -> Page:
    """Show one own picture with everything that is known and said of it."""
    return _page(public_id)


@blueprint.get("/my-pictures/<public_id>/original")
def original(public_id: str) -> BaseResponse:
    """Give somebody the file of her own picture back as it came, to keep and not to show."""
    with store().look() as db:
        content, media_type = whole.the_original(db, storage(), the_person().id, public_id, on=her_day())
    response = make_response(content)
    response.content_type = media_type
    response.headers.update(PICTURE_HEADERS)
    response.headers["Content-Disposition"] = f'attachment; filename="{public_id[:8]}.{media_type.partition("/")[2]}"'
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.post("/my-pictures/<public_id>/retire")
def retire(public_id: str) -> Page:
    """Withdraw one of somebody's own pictures."""
    with store().work() as db:
        withdrawing.retire_picture(db, account_id=the_person().id, public_id=public_id, at=now())
    return redirect(url_for("pictures.my_pictures", withdrawn=public_id), code=303)


@blueprint.post("/my-pictures/<public_id>/bring-back")
def bring_back(public_id: str) -> Page:
    """Take the withdrawing of a picture back."""
    try:
        with store().work() as db:
            withdrawing.bring_back(db, account_id=the_person().id, public_id=public_id)
    except BadPicture as error:
        return _page(public_id, error), 422
    return redirect(url_for("pictures.picture", public_id=public_id, back="yes"), code=303)


@blueprint.post("/my-pictures/<public_id>/delete-files")
def delete_files(public_id: str) -> Page:
    """Withdraw a picture for good, with every file of it."""
    try:
        if not forms.ticked("for_good"):
            raise Invalid(say("Tick that you mean it: deleted files cannot be brought back."), field="for_good")
        with store().work() as db:
            withdrawing.delete_files(db, storage(), account_id=the_person().id, public_id=public_id, at=now())
    except Invalid as error:
        return _page(public_id, error), 422
    return redirect(url_for("pictures.my_pictures", deleted="yes"), code=303)


@blueprint.post("/my-pictures/originals/delete")
def delete_originals() -> Page:
    """Delete the files of somebody's pictures that are kept as they came."""
    if not forms.ticked("for_good"):
        raise Invalid(
            say("Go back and tick that you mean it: deleted files cannot be brought back. Nothing is deleted yet."), field="for_good"
        )
    with store().work() as db:
        withdrawing.delete_originals(db, storage(), the_person().id)
    return redirect(url_for("account.settings", saved="yes"), code=303)


def _page(public_id: str, wrong: Invalid | None = None) -> str:
    with store().look() as db:
        shown = whole.the_own_picture(db, the_person().id, public_id, on=her_day())
    return render_template("pictures/picture.html", shown=shown, wrong=wrong, is_back="back" in request.args)
