"""The bytes of a picture, to whoever may see them."""

from __future__ import annotations

from typing import Final

from flask import make_response, request
from werkzeug.wrappers import Response as BaseResponse

from drillhall.pictures import serving
from drillhall.web.pictures.room import blueprint, her_day
from drillhall.web.session import now, storage, store, the_person

PICTURE_HEADERS: Final = {
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Content-Disposition": "inline",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Vary": "Cookie",
}


@blueprint.get("/pictures/<public_id>/<recipe>")
def the_picture(public_id: str, recipe: str) -> BaseResponse:
    """Send one size of a picture."""
    person = the_person()
    with store().look() as db:
        served = serving.the_file(db, storage(), public_id=public_id, recipe=recipe, viewer_id=person.id, on=her_day(), at=now())
    response = make_response(served.content)
    response.content_type = served.media_type
    response.headers.update(PICTURE_HEADERS)
    response.headers["Cache-Control"] = f"private, max-age={served.cacheable_seconds}"
    response.set_etag(recipe)
    return response.make_conditional(request)
