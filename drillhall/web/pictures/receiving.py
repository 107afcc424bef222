"""Takes pictures from the script one by one, and tells it which of them are here already."""

from __future__ import annotations

import re
from typing import Any, Final

from flask import Response, jsonify, request, url_for

from drillhall.errors import BadPicture, Invalid
from drillhall.pictures import ingest, sent
from drillhall.pictures.reading import MOST_BYTES
from drillhall.web.pictures.adding import new_public_id, refuse_disturbed, spend_sending
from drillhall.web.pictures.room import blueprint
from drillhall.web.session import now, storage, store, the_person
from drillhall.words import say

MOST_ASKED: Final = 2_000
DIGEST: Final = re.compile(r"[0-9a-f]{64}")


@blueprint.post("/my-pictures/send")
def send() -> Response:
    """Keep one picture at once, with nothing said of it yet; one that its owner has already is told, not refused."""
    person = the_person()
    refuse_disturbed()
    spend_sending()
    file = request.files.get("file")
    if file is None or not file.filename:
        raise BadPicture(say("Choose a picture from your device."), field="file")
    taken = ingest.take(file.stream.read(MOST_BYTES + 1), keep_original=person.preferences.keep_originals)
    with store().work() as db:
        kept = sent.keep_sent(db, storage(), taken, public_id=new_public_id(), owner_id=person.id, at=now())
    return jsonify(already=kept.already, page=url_for("pictures.picture", public_id=kept.public_id))


@blueprint.post("/my-pictures/known")
def known() -> Response:
    """Tell which of some pictures, named by their SHA-256, somebody has sent already."""
    asked: Any = request.get_json(silent=True)
    digests = asked.get("sha256") if isinstance(asked, dict) else None
    if (
        not isinstance(digests, list)
        or len(digests) > MOST_ASKED
        or not all(isinstance(one, str) and DIGEST.fullmatch(one) for one in digests)
    ):
        raise Invalid(say("Ask with a list of at most {most_asked} SHA-256.", most_asked=MOST_ASKED), field="sha256")
    with store().look() as db:
        found = sent.list_known(db, the_person().id, digests)
    return jsonify(known={digest: url_for("pictures.picture", public_id=public_id) for digest, public_id in found.items()})
