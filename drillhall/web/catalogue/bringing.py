"""A steward's catalogues: what she writes, a zip brought in after a preview, and the whole given back as a zip."""

from __future__ import annotations

import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import IO, Final
from zoneinfo import ZoneInfo

from flask import redirect, render_template, request, send_file, url_for

from drillhall.acts.export_catalogue import export_catalogue
from drillhall.acts.import_catalogue import Preview, import_catalogue, pictures_kept, preview_import
from drillhall.catalogues import staging
from drillhall.catalogues.editing.making import list_retired
from drillhall.catalogues.stewards import list_stewarded
from drillhall.catalogues.writing import zip_sink
from drillhall.core.cautions import cautions, fixed_banner
from drillhall.errors import BadImport, NameTaken
from drillhall.web import session
from drillhall.web.catalogue.room import Page, blueprint
from drillhall.web.session import dice, now, storage, store, the_person
from drillhall.words import say

WANTED_SHOWN: Final = 60


@blueprint.get("")
def catalogues() -> Page:
    """List the catalogues that somebody writes, with the form that brings one in."""
    return _page()


@blueprint.post("")
def upload() -> Page:
    """Take a zip, and show what its import would do; with faults, tell them all and keep nothing."""
    token = f"{dice().getrandbits(128):032x}"
    try:
        _stage(token)
    except (BadImport, NameTaken) as error:
        return _page(error), 422
    return redirect(url_for("catalogue.staged", token=token), code=303)


@blueprint.get("/staged/<token>")
def staged(token: str) -> Page:
    """Show what the import of an upload would do."""
    try:
        preview = _sound_preview(_staged(token))
    except (BadImport, NameTaken) as error:
        return _page(error), 422
    said, banner = cautions(preview.subject, "upload"), fixed_banner(preview.subject)
    return render_template("catalogue/staged.html", token=token, preview=preview, most=WANTED_SHOWN, cautions=said, banner=banner)


@blueprint.post("/staged/<token>")
def bring_in(token: str) -> Page:
    """Import an upload that was previewed: as a whole or not at all."""
    path = _staged(token)
    try:
        preview = _sound_preview(path)
        with pictures_kept(storage(), path, preview) as kept, store().work() as db:
            import_catalogue(db, storage(), path, by=the_person().id, at=now(), kept=kept)
    except (BadImport, NameTaken) as error:
        return _page(error), 422
    path.unlink(missing_ok=True)
    return redirect(url_for("catalogue.catalogues", brought="yes"), code=303)


@blueprint.post("/staged/<token>/drop")
def drop(token: str) -> Page:
    """Let an upload go without importing it."""
    _staged(token).unlink(missing_ok=True)
    return redirect(url_for("catalogue.catalogues"), code=303)


@blueprint.get("/<key>/export")
def export(key: str) -> Page:
    """Give a catalogue back as a zip, to one of its stewards."""
    return send_file(_packed(key), mimetype="application/zip", as_attachment=True, download_name=f"{key}.zip")


def _page(wrong: BadImport | NameTaken | None = None) -> str:
    with store().look() as db:
        written, retired = list_stewarded(db, the_person().id), list_retired(db, the_person().id)
    return render_template(
        "catalogue/catalogues.html", catalogues=written, retired=retired, wrong=wrong, faults=getattr(wrong, "faults", ())
    )


def _stage(token: str) -> None:
    """Keep an upload under a token, unless its import would be refused."""
    file = request.files.get("zip")
    if file is None or not file.filename:
        raise BadImport(say("Choose the zip of a catalogue's folder."))
    path = staging.stage(_folder(), file.stream, account_id=the_person().id, token=token, at=now())
    try:
        _sound_preview(path)
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def _packed(key: str) -> IO[bytes]:
    """Return a catalogue's zip in a file without a name, which goes with its last reader."""
    person = the_person()
    on = now().astimezone(ZoneInfo(person.zone)).date()
    with ExitStack() as stack:
        content = stack.enter_context(tempfile.TemporaryFile())
        with store().look() as db, zip_sink(content, key) as sink:
            export_catalogue(db, storage(), key, sink, by=person.id, on=on)
        content.seek(0)
        stack.pop_all()
    return content


def _preview(path: Path) -> Preview:
    with store().look() as db:
        return preview_import(db, storage(), path, by=the_person().id)


def _sound_preview(path: Path) -> Preview:
    """Return the preview of an upload without faults, or raise BadImport with all of them."""
    preview = _preview(path)
    if preview.changes is None:
        raise _refused(preview)
    return preview


def _refused(preview: Preview) -> BadImport:
    return BadImport(
        say("Nothing was imported. Mend what is listed below, zip the folder again and choose it here."), faults=preview.report.lines
    )


def _folder() -> Path:
    return session.settings().uploads_folder


def _staged(token: str) -> Path:
    return staging.the_staged(_folder(), account_id=the_person().id, token=token, at=now())
