"""Files for other systems: learning records of a group, and the questions of what it is given."""

from __future__ import annotations

import tempfile
from contextlib import ExitStack
from typing import IO

from flask import current_app, send_file

from drillhall.acts.export_items import export_given_items
from drillhall.people import audit
from drillhall.people.group import Group
from drillhall.people.permissions import the_led_group
from drillhall.practice.exports import qti, xapi
from drillhall.practice.recording import learning_records
from drillhall.web.session import now, outside_address, storage, store, the_person
from drillhall.web.teacher.room import Page, blueprint, her_day


@blueprint.post("/<group_key>/records/xapi")
def records(group_key: str) -> Page:
    """Give the learning records of those in a group who are seen by name, without their names, and note that they were taken."""
    with store().work() as db:
        group = the_led_group(db, the_person(), group_key, archived=True)
        audit.note(db, "learning records taken", at=now(), by=the_person().id, subject=f"group {group.id}")
    name = f"learning-records-{her_day().isoformat()}.json"
    return send_file(_packed(group), mimetype=xapi.MEDIA_TYPE, as_attachment=True, download_name=name)


@blueprint.get("/<group_key>/assignments/<int:assignment_id>/items.zip")
def given_items(group_key: str, assignment_id: int) -> Page:
    """Give the questions of a pair set that the group is given, on practice pictures that may leave, for another system of tests."""
    with ExitStack() as stack:
        content = stack.enter_context(tempfile.TemporaryFile())
        with store().look() as db:
            group = the_led_group(db, the_person(), group_key)
            export_given_items(db, storage(), group.id, assignment_id, content, by=the_person().id, on=her_day())
        content.seek(0)
        stack.pop_all()
    return send_file(content, mimetype=qti.MEDIA_TYPE, as_attachment=True, download_name=f"items-{her_day().isoformat()}.zip")


def _packed(group: Group) -> IO[bytes]:
    """Return the file without a name, which goes with its last reader."""
    with ExitStack() as stack:
        content = stack.enter_context(tempfile.TemporaryFile())
        with store().look() as db:
            told = learning_records(db, group.id, group.kind, secret=str(current_app.secret_key), at=now())
            content.writelines(xapi.write(told, home=outside_address("")))
        content.seek(0)
        stack.pop_all()
    return content
