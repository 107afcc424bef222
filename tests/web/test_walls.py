"""Walls between people, walked: another's things by number, forms without their token, and markup in whatever may be typed."""

from __future__ import annotations

from collections.abc import Container, Iterator
from typing import Any

import pytest
from sqlalchemy import select, update
from werkzeug.test import TestResponse

from drillhall.people import accounts, groups
from drillhall.store.base import Row
from drillhall.store.models.catalogue import CatalogueRow, StewardRow
from drillhall.store.models.pictures import PictureRow
from tests import cast
from tests.hall import MADE_AT
from tests.visits import Hall, Visitor
from tests.web.things import GROUP, things_of
from tests.web.walking import all_rows, methods_of, path_of, rules_of

FOR_ANYBODY = {
    "static": "files of the program",
    "offline.icon": "files of the program",
    "second_step.ask": "the argument says of whom, and that is asked of the session",
    **dict.fromkeys(("account.join", "account.step_in", "groups.enter", "groups.calendar_feed", "mail.link"), "the link is the proof"),
    **dict.fromkeys(("open.question", "open.answer", "open.told", "open.picture", "open.by_mail", "open.feed"), "asked openly"),
    **dict.fromkeys(("catalogue.shared_set", "catalogue.copy_shared_set"), "shown in the hall by its steward"),
    **dict.fromkeys(("pictures.credits", "learner.take", "learner.put_back", "learner.work_out_set"), "every set is on everybody's shelf"),
    "learner.start_rarity": "begins a drill of one's own on a pair that is nobody's",
    "pictures.the_picture": "this one is openly licensed; tests/pictures and tests/web/pictures have others",
}
"""Routes whose arguments name nothing that is one person's."""

LOOKS_AT_THE_FORM_FIRST = {
    "catalogue.end_steward",
    "pictures.preview",
    "learner.answer_rarity",
    "learner.answer_trial",
    "learner.answer_words",
}
"""Where a form is refused before anything is looked for, so a thing of another's and one that is not there are told alike."""

OF_ONES_OWN = {"groups.report", "groups.report_file", "catalogue.language"}
OF_ONES_OWN |= {"groups.wall", "teacher.set_field_test"}
"""Routes whose second argument is a word, or a pair set, which is on everybody's shelf."""

NOTHING = "00000000-0000-4000-8000-0000000000ff"
HER_CLASS = f"{NOTHING[:-1]}9"
HER_CATALOGUE = "theirs"
NO_WAY_OUT = {"catalogue.wall", "groups.wall", "offline.offline", "open.told", "second_step.code"}
"""Pages that fill the window or stand in another's, and those of whoever is not, or only half, signed in."""

MARKUP = "\"'><b zz=1>"
TYPED = {
    "account": ("name",),
    "catalogue": ("title", "note", "list_name"),
    "group": ("title",),
    "field_test": ("title",),
    "name": ("scientific_name",),
    "pair_set": ("title", "note"),
    "roster_place": ("listed_as",),
    "trait": ("label", "ask", "note"),
    "vernacular": ("name",),
    "catalogue_form": ("note",),
    "open_question": ("title",),
    "picture": ("alt", "pose", "setting", "cluster"),
    "stage": ("title",),
    "state": ("label",),
    "catalogue_pair": ("note",),
    "catalogue_change": ("thing",),
    "label_change": ("note",),
    "outing": ("title", "place"),
    "picture_offer": ("note",),
    "passkey": ("name",),
    "invitation": ("note",),
    "rights": ("creator", "credit", "rights_owner", "source", "title", "statement", "granted_by", "evidence"),
    "season_entry": ("words",),
    "job": ("fault",),
}
"""Columns that hold what somebody typed, as she typed it."""

NO_PAGES = {"static", "account.step_in", "account.join", "pictures.the_picture", "pictures.preview", "sittings.picture"}
NO_PAGES |= {"privacy.everything", "privacy.pupil_everything", "privacy.account_everything"}
NO_PAGES |= {"catalogue.export", "catalogue.set_zip", "catalogue.set_items"}
"""What is used up by the asking, and bytes of pictures and zips."""

ASKED = ("next", "act", "before", "back", "form", "with", "did", "page", "picture", "saved", "sort", "trait", "pair", "set", "weeks", "sex")


def _another_of_each_role(hall: Hall) -> Visitor:
    """Return somebody who leads a class and writes a catalogue, as the others do, and has nothing to do with theirs."""
    with hall.store.work() as db:
        stranger = accounts.the_person_called(db, cast.STRANGER.name)
        groups.make_group(db, by=stranger, title="Another", kind="class", is_paid=False, public_id=HER_CLASS, at=MADE_AT)
        catalogue = CatalogueRow(key=HER_CATALOGUE, title="Theirs", subject="bird", list_name="List", made_at=MADE_AT, changed_at=MADE_AT)
        db.add(catalogue)
        db.flush()
        db.add(StewardRow(catalogue_id=catalogue.id, account_id=stranger.id))
    return hall.enter(cast.STRANGER, known=True)


def _values(hall: Hall) -> dict[str, Any]:
    learner, keeper = hall.enter(cast.LEARNER, known=True), hall.enter(cast.KEEPER, known=True)
    return things_of(hall, learner, keeper) | {"filename": "icon.svg", "icon_name": "icon-192", "name": "progress", "file_format": "csv"}


def _rows(hall: Hall) -> dict[str, list[Any]]:
    return {name: rows for name, rows in all_rows(hall.store).items() if name != "attempt"}


def _asked_for(
    hall: Hall, visitor: Visitor, values: dict[str, Any], only: Container[str] | None = None, **headers: str
) -> Iterator[tuple[str, str, int]]:
    """Ask for every route with arguments (or `only` some), by every method, and yield (method, endpoint, status)."""
    for rule in rules_of(hall):
        if only is not None and rule.endpoint not in only:
            continue
        for method in sorted(methods_of(rule)) if rule.arguments else ():
            path = path_of(hall, rule, **values | {"token": values.get(rule.endpoint, "wrong")})
            answer = visitor.client.open(path, method=method, headers=headers)
            answer.close()
            yield method, rule.endpoint, answer.status_code


def test_what_is_anothers_is_not_there_by_any_number_and_stays_as_it_is(full_hall: Hall) -> None:
    values, another = _values(full_hall), _another_of_each_role(full_hall)
    before = _rows(full_hall)
    wrong, like_nothing = [], {}
    for method, endpoint, status in _asked_for(full_hall, another, values, **{"X-CSRFToken": another.token()}):
        if endpoint in LOOKS_AT_THE_FORM_FIRST:
            like_nothing[endpoint] = status
        elif endpoint not in FOR_ANYBODY and status != 404:
            wrong.append(f"{method} {endpoint}: {status}")
    assert wrong == []
    nothing = {name: NOTHING if isinstance(value, str) else 9999 for name, value in values.items()}
    told = _asked_for(full_hall, another, values | nothing, LOOKS_AT_THE_FORM_FIRST, **{"X-CSRFToken": another.token()})
    assert {endpoint: status for _, endpoint, status in told} == like_nothing
    after = _rows(full_hall)
    her_own = {"catalogue", "catalogue_change", "pair_set", "steward", "trait", "catalogue_form", "stage", "state", "catalogue_pair"}
    her_own |= {"form_trait", "form_measure", "stage_pair", "third", "taken_set"}  # the set that is shown, copied; and the set taken
    her_own |= {"drill", "round", "showing"}  # a trial of a pair of that set
    assert {name for name in after if after[name] != before[name]} <= her_own
    assert all(set(before[name]) <= set(after[name]) for name in after)  # nothing that was there is otherwise


def test_ones_own_group_or_catalogue_leads_to_nothing_of_anothers(full_hall: Hall) -> None:
    values, another = _values(full_hall), _another_of_each_role(full_hall)
    within = {rule.endpoint for rule in rules_of(full_hall) if len(rule.arguments) > 1 and rule.arguments & {"group_key", "key"}}
    own = values | {"group_key": HER_CLASS, "key": HER_CATALOGUE}
    before = _rows(full_hall)
    told = list(_asked_for(full_hall, another, own, within - OF_ONES_OWN, **{"X-CSRFToken": another.token()}))
    assert {(endpoint, status) for _, endpoint, status in told if status != 404} == {("curating.accept", 422)}  # looks at the form first
    assert len(told) > 50
    assert _rows(full_hall) == before
    answer = another.post(f"/catalogues/{HER_CATALOGUE}/offers/1/accept", {"form": "1", "use": "practice"})
    assert answer.status_code == 404


def test_no_form_is_taken_without_its_token(full_hall: Hall) -> None:
    values = _values(full_hall)
    people = [full_hall.enter(one, known=True) for one in (cast.LEADER, cast.KEEPER)]
    before = all_rows(full_hall.store)
    taken = set()
    for rule in rules_of(full_hall):
        if not methods_of(rule) & {"POST", "PUT", "PATCH", "DELETE"}:
            continue
        path = path_of(full_hall, rule, **values | {"token": values.get(rule.endpoint, "wrong")})
        for somebody in people:
            answer = somebody.client.post(path, data={"name": "x", "passphrase": "x"})
            if answer.status_code != 400:
                taken.add((rule.endpoint, answer.status_code))
    assert taken == {("mail.follow", 404)}  # by the seal in its address alone: mail programs have no form
    head = people[0].client.head(f"/groups/{GROUP}/roster", data={"list": "Wenna\nJory"})
    assert (head.status_code, head.data) == (200, b""), "a HEAD needs no token, so it is a GET, whatever it carries"
    assert all_rows(full_hall.store) == before


def test_markup_that_was_typed_is_shown_as_it_was_typed_on_every_page(full_hall: Hall) -> None:
    values = _values(full_hall)
    people = [full_hall.enter(one, known=True) for one in (cast.LEADER, cast.KEEPER, cast.LEARNER)]
    with full_hall.store.work() as db:
        for table, names in TYPED.items():
            columns = Row.metadata.tables[table].c
            db.execute(update(Row.metadata.tables[table]).values({name: columns[name] + MARKUP for name in names}))
    seen, unsafe = set(), []
    for rule in rules_of(full_hall):
        if "GET" not in methods_of(rule) or rule.endpoint in NO_PAGES:
            continue
        path = path_of(full_hall, rule, **values | {"token": values.get(rule.endpoint, "wrong")})
        answers = [answer := _got(people[0], path)]
        while answer.status_code != 200 and len(answers) < len(people):
            answers.append(answer := _got(people[len(answers)], path))
        answers.append(_got(people[len(answers) - 1], path, dict.fromkeys(ASKED, MARKUP)))
        for answer in answers:
            assert answer.status_code < 500, rule
            if answer.mimetype in {"text/html", "application/atom+xml", "image/svg+xml"}:
                seen |= {rule.endpoint} if "zz=1" in answer.text else set()
                unsafe += [answer.request.full_path] if "<b zz" in answer.text else []
            elif answer.mimetype == "application/json":
                unsafe += [f"{rule.endpoint}: {text}" for text in _html_in(answer.get_json()) if "<b zz" in text]
    assert unsafe == []
    assert len(seen) > 60  # it was shown, and on most pages


def test_the_way_out_stands_on_every_page_but_a_few(full_hall: Hall) -> None:
    values, without, found = _values(full_hall), set(), 0
    people = [full_hall.enter(one, known=True) for one in (cast.LEADER, cast.KEEPER, cast.LEARNER)]
    for rule in rules_of(full_hall):
        if "GET" not in methods_of(rule) or rule.endpoint in NO_PAGES:
            continue
        path = path_of(full_hall, rule, **values | {"token": values.get(rule.endpoint, "wrong")})
        page = next((answer for answer in (_got(person, path) for person in people) if answer.status_code == 200), None)
        if page is not None and page.mimetype == "text/html":
            found += 1
            without |= set() if 'action="/sign-out"' in page.text else {rule.endpoint}
    assert found > 80
    assert without == NO_WAY_OUT


def _got(visitor: Visitor, path: str, asked: dict[str, str] | None = None) -> TestResponse:
    with visitor.get(path, query_string=asked or {}, buffered=True) as answer:
        return answer


def _html_in(told: Any, key: str = "") -> Iterator[str]:
    """Yield what an object for a script calls HTML."""
    if isinstance(told, dict):
        for name, value in told.items():
            yield from _html_in(value, name)
    elif isinstance(told, list):
        for value in told:
            yield from _html_in(value, key)
    elif isinstance(told, str) and "html" in key:
        yield told


def test_every_column_of_markup_is_a_column_that_is_there(full_hall: Hall) -> None:
    tables = Row.metadata.tables
    assert all(name in tables[table].c for table, names in TYPED.items() for name in names)
    with full_hall.store.look() as db:
        filled = [table for table in TYPED if db.execute(select(tables[table]).limit(1)).first() is not None]
    assert {"account", "catalogue", "group", "trait", "picture", "rights"} <= set(filled)


PATHS = (
    "/hall.sqlite",
    "/.git/config",
    "/static/../hall.sqlite",
    "/static/%2e%2e/hall.sqlite",
    "/static/..%5c..%5chall.sqlite",
    "/static//etc/passwd",
    "/static/",
    "/pictures/..%2f..%2fhall.sqlite/original",
    "/requests.log",
    "/static/css/tokens.css%00.png",
)
"""Files that lie beside those of the program, by ways that lead out of its folder."""


def test_no_path_leads_to_a_file_that_is_not_the_programs(full_hall: Hall) -> None:
    for visitor in (full_hall.visitor(), full_hall.enter(cast.KEEPER, known=True)):
        for path in PATHS:
            answer = visitor.get(path, follow_redirects=True)
            answer.close()
            assert answer.status_code == 404 or answer.request.path == "/sign-in", path


def test_anothers_and_none_are_told_in_the_same_words(full_hall: Hall) -> None:
    """Whoever tries keys and names learns nothing of which there are."""
    stranger = full_hall.enter(cast.STRANGER, known=True)
    for there, none in (
        (f"/groups/{GROUP}", f"/groups/{NOTHING}"),
        (f"/groups/{GROUP}/season", f"/groups/{NOTHING}/season"),
        ("/catalogues/hers", "/catalogues/none"),
        ("/my-pictures/" + _anothers_picture(full_hall), f"/my-pictures/{NOTHING}"),
        ("/hall/people/1/kept", "/hall/people/999/kept"),
    ):
        answers = [stranger.get(path) for path in (there, none)]
        assert [answer.status_code for answer in answers] == [404, 404]
        assert answers[0].text.replace(there, "") == answers[1].text.replace(none, "")


@pytest.mark.parametrize("sign", ["\r\nX-Planted: yes", "\nSet-Cookie: a=b", "%0d%0aX-Planted:%20yes"])
def test_a_line_end_that_was_typed_adds_no_header(full_hall: Hall, sign: str) -> None:
    fields = {"name": cast.LEARNER.name, "passphrase": cast.LEARNER.passphrase, "next": f"/standing{sign}"}
    entered = full_hall.visitor().post("/sign-in", fields)
    learner = full_hall.enter(cast.LEARNER, known=True)
    made = learner.post("/groups", {"title": f"Club{sign}", "kind": "club"})
    kept = learner.post(f"{made.location}/reports/progress/csv") if made.status_code == 303 else made
    asked = full_hall.visitor().get(f"/settings?a={sign}")
    for answer in (entered, made, kept, asked):
        assert "X-Planted" not in answer.headers
        assert not any(value.startswith("a=b") for value in answer.headers.getlist("Set-Cookie"))


def _anothers_picture(hall: Hall) -> str:
    with hall.store.look() as db:
        return db.scalars(select(PictureRow.public_id).order_by(PictureRow.id)).first() or ""
