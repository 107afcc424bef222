"""Handing a pair set on: a copy of it, its page for everybody in the hall, and one file with all that it needs."""

from __future__ import annotations

import tempfile
from contextlib import ExitStack
from typing import IO

from flask import redirect, render_template, send_file, url_for

from drillhall.acts.export_catalogue import export_catalogue, what_stays
from drillhall.acts.export_items import export_items
from drillhall.catalogues.editing import known, things
from drillhall.catalogues.editing.changing import Act
from drillhall.catalogues.excerpt import key_of
from drillhall.catalogues.writing import zip_sink
from drillhall.practice.exports import qti
from drillhall.practice.shelf import the_shared_set
from drillhall.practice.walling import the_set_called
from drillhall.web.catalogue.room import Page, blueprint, her_day, keep, look
from drillhall.web.session import outside_address, storage, store, the_person


@blueprint.post("/<key>/sets/<set_key>/copy")
def copy_set(key: str, set_key: str) -> Page:
    """Copy a pair set within its catalogue, and go on to the copy."""
    opened = look(key)
    with store().look() as db:
        taken = known.used_keys(db, opened.id, "sets")
    things.the_thing(opened.said.sets, set_key, "pair set")
    made = things.copy_key(opened.said, set_key, taken=taken)
    keep(key, lambda said: things.copy_set(said, set_key, made), Act("added", f"sets/{made}"))
    return redirect(url_for("catalogue.pair_set", key=key, set_key=made), code=303)


@blueprint.get("/<key>/sets/<set_key>/file")
def set_file(key: str, set_key: str) -> Page:
    """Tell what goes into the file of a pair set, which pictures stay here, and how to share the set within the hall."""
    opened = look(key)
    found = things.the_thing(opened.said.sets, set_key, "pair set")
    with store().look() as db:
        goes, stays = what_stays(db, key, set_key, by=the_person().id, on=her_day())
        link = url_for("catalogue.shared_set", pair_set_id=the_set_called(db, opened.id, set_key))
    told = {"goes": goes, "stays": stays, "link": outside_address(link)}
    return render_template("catalogue/set_file.html", key=key, said=opened.said, set=found, **told)


@blueprint.get("/<key>/sets/<set_key>/file.zip")
def set_zip(key: str, set_key: str) -> Page:
    """Give a pair set as one file, from which it can be brought in anywhere."""
    opened = look(key)
    name = key_of(opened.said, things.the_thing(opened.said.sets, set_key, "pair set"))
    return send_file(_packed(key, set_key, name), mimetype="application/zip", as_attachment=True, download_name=f"{name}.zip")


@blueprint.get("/<key>/sets/<set_key>/items.zip")
def set_items(key: str, set_key: str) -> Page:
    """Give the questions of a pair set as items for another system of tests."""
    opened = look(key)
    name = key_of(opened.said, things.the_thing(opened.said.sets, set_key, "pair set"))
    with ExitStack() as stack:
        content = stack.enter_context(tempfile.TemporaryFile())
        with store().look() as db:
            export_items(db, storage(), key, set_key, content, by=the_person().id, on=her_day())
        content.seek(0)
        stack.pop_all()
    return send_file(content, mimetype=qti.MEDIA_TYPE, as_attachment=True, download_name=f"{name}-items.zip")


@blueprint.get("/shared-sets/<int:pair_set_id>")
def shared_set(pair_set_id: int) -> Page:
    """Show a pair set to anybody in the hall who was sent its link."""
    with store().look() as db:
        shown = the_shared_set(db, the_person().id, pair_set_id)
    return render_template("catalogue/shared_set.html", shown=shown)


def _packed(key: str, set_key: str, name: str) -> IO[bytes]:
    """Return the zip in a file without a name, which goes with its last reader."""
    with ExitStack() as stack:
        content = stack.enter_context(tempfile.TemporaryFile())
        with store().look() as db, zip_sink(content, name) as sink:
            export_catalogue(db, storage(), key, sink, by=the_person().id, on=her_day(), set_key=set_key)
        content.seek(0)
        stack.pop_all()
    return content
