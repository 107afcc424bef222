"""Reports of a group: which there are, each as a page, and in every format to keep."""

from __future__ import annotations

from flask import Response, render_template

from drillhall.errors import NotFound
from drillhall.people import audit
from drillhall.people.group import Group
from drillhall.people.permissions import Role, may, the_led_group
from drillhall.practice.exports import FORMATS, the_format
from drillhall.practice.reports import REPORTS, the_report
from drillhall.practice.tables import Scope, Table
from drillhall.web.groups.room import Page, blueprint, her_day
from drillhall.web.session import now, store, the_person
from drillhall.words import say


@blueprint.get("/<group_key>/reports")
def reports(group_key: str) -> Page:
    """List the reports of a group, each with the formats in which it may be kept."""
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key, archived=True)
    listed = [report for report in REPORTS if _may_read(group, report.AUDIENCE)]
    return render_template("groups/reports.html", group=group, reports=listed, formats=FORMATS)


@blueprint.get("/<group_key>/reports/<name>")
def report(group_key: str, name: str) -> Page:
    """Show a report."""
    group, table = _built(group_key, name)
    return render_template("groups/report.html", group=group, table=table, formats=FORMATS)


@blueprint.post("/<group_key>/reports/<name>/<file_format>")
def report_file(group_key: str, name: str, file_format: str) -> Response:
    """Give a report in a format to keep, and note that it was taken."""
    chosen = the_format(file_format)
    group, table = _built(group_key, name)
    with store().work() as db:
        audit.note(db, "report taken", at=now(), by=the_person().id, subject=f"group {group.id}, {table.name}")
    sent = Response(chosen.write(table), content_type=chosen.MEDIA_TYPE)
    sent.headers["Content-Disposition"] = f"attachment; filename={table.name}-{table.made_on.isoformat()}.{chosen.NAME}"
    return sent


def _built(group_key: str, name: str) -> tuple[Group, Table]:
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key, archived=True)
        found = the_report(name)
        if not _may_read(group, found.AUDIENCE):
            raise NotFound(say("There is no such report."))
        return group, found.build(db, Scope(group.id, group.kind, her_day(), now()))


def _may_read(group: Group, action: str) -> bool:
    return may(frozenset({Role(group.role)}), action)
