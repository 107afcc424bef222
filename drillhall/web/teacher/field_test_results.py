"""What a field test came to: the class and its pairs, the questions one by one, two sittings compared, and files to keep."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from flask import Response, render_template

from drillhall.errors import NotFound
from drillhall.people import audit
from drillhall.people.group import Group
from drillhall.people.permissions import is_steward, the_led_group
from drillhall.practice.exports import FORMATS, the_format
from drillhall.practice.field_tests import keeping, tabulating
from drillhall.practice.field_tests.comparing import compared
from drillhall.practice.field_tests.results import ClassResults, QuestionTold, class_results, questions_told
from drillhall.practice.reader import names_for
from drillhall.web import forms
from drillhall.web.session import now, store, the_person
from drillhall.web.teacher.room import Page, blueprint, her_day
from drillhall.words import say

TABLE_WORDS: Final = {"sitters": say("Keep sitters, {format}"), "questions": say("Keep questions, {format}")}
"""What the buttons say that give a table of a test in a format."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A test with what it came to; `others` are the group's other tests that were begun, `sees`: its pictures may be looked at."""

    group: Group
    test: keeping.FieldTest
    results: ClassResults
    lines: tuple[QuestionTold, ...]
    others: tuple[keeping.TestLine, ...]
    sees: bool


@blueprint.get("/<group_key>/field-tests/<int:test_id>")
def field_test(group_key: str, test_id: int) -> Page:
    """Show a field test and what it came to so far."""
    seen = _seen(group_key, test_id)
    return render_template("teacher/field_test.html", group=seen.group, seen=seen, formats=FORMATS, table_words=TABLE_WORDS)


@blueprint.get("/<group_key>/field-tests/<int:test_id>/questions")
def item_analysis(group_key: str, test_id: int) -> Page:
    """Show how each question did, and which pictures to doubt; the pictures themselves to stewards alone."""
    seen = _seen(group_key, test_id)
    return render_template("teacher/item_analysis.html", group=seen.group, seen=seen)


@blueprint.get("/<group_key>/field-tests/<int:test_id>/compare")
def compare_sittings(group_key: str, test_id: int) -> Page:
    """Compare a test with another, or its first sittings with the latest ones."""
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key, archived=True)
        ids = (test_id, forms.asked_id("with") or test_id)
        test, other = (keeping.the_test(db, group.id, one, is_paid=group.is_paid, at=now()) for one in ids)
        earlier, later = sorted((test, other), key=lambda one: (one.opens_at, one.id))
        rows = [keeping.the_row(db, group.id, one.id) for one in (earlier, later)]
        told = compared(db, *rows, kind=group.kind, is_paid=group.is_paid, at=now(), reader=names_for(db, the_person().id))
    return render_template("teacher/compare_sittings.html", group=group, test=test, earlier=earlier, later=later, told=told)


@blueprint.post("/<group_key>/field-tests/<int:test_id>/<table>/<file_format>")
def field_test_file(group_key: str, test_id: int, table: str, file_format: str) -> Response:
    """Give a test's results, or its questions, in a format to keep, and note that they were taken."""
    seen, chosen = _seen(group_key, test_id), the_format(file_format)
    if table not in tabulating.TABLES:
        raise NotFound(say("There is no such table."))
    with store().work() as db:
        audit.note(db, "results taken", at=now(), by=the_person().id, subject=f"group {seen.group.id}, test {test_id}, {table}")
    told = tabulating.TABLES[table](seen.test.title, seen.results, seen.lines, her_day())
    sent = Response(chosen.write(told), content_type=chosen.MEDIA_TYPE)
    sent.headers["Content-Disposition"] = f"attachment; filename={told.name}-{told.made_on.isoformat()}.{chosen.NAME}"
    return sent


def _seen(group_key: str, test_id: int) -> Seen:
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key, archived=True)
        test = keeping.the_test(db, group.id, test_id, is_paid=group.is_paid, at=now())
        row = keeping.the_row(db, group.id, test_id)
        results = class_results(db, row, kind=group.kind, is_paid=group.is_paid, at=now(), reader=names_for(db, the_person().id))
        sees = is_steward(db, the_person(), test.catalogue_id)
        lines = questions_told(db, row, results.marked, with_pictures=sees, at=now())
        others = tuple(one for one in keeping.list_tests(db, group.id, at=now()) if one.begun and one.id != test_id)
    return Seen(group, test, results, lines, others, sees)
