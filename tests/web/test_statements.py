"""Every page asks the database as many questions of a fuller hall as of a small one: counted for each, by those who may see it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any, Final

from sqlalchemy import select

from drillhall.store.models.pictures import PictureRow
from drillhall.store.session import Store
from tests import cast
from tests.visits import Hall, Visitor
from tests.web.curating.curated import counted_statements
from tests.web.learner.test_drill import answers_to, send
from tests.web.multiplied import multiply
from tests.web.things import things_of
from tests.web.walking import methods_of, path_of, rules_of

COPIES = 2
PLANTED = "health.alive"
MORE: Final[Mapping[str, tuple[int, str]]] = {
    "catalogue.preview": (81, "a throw of the dice for each of 12 pairs at most: 9 statements for each of 9 pairs more"),
    "groups.report": (11 * COPIES, "what a set of another catalogue is read with"),
    "weak_spots.weak_spots": (5 * COPIES, "names and traits of another catalogue"),
    "weak_spots.beside": (5 * COPIES, "names and traits of another catalogue"),
}
"""How many statements more some pages may send of the fuller hall, each with the reason."""

WHO_SEES = {"keeper": cast.KEEPER, "steward": cast.LEADER, "learner": cast.LEARNER}
HERS = ("learner.", "pictures.", "sittings.", "privacy.", "weak_spots.own")
"""What begins like this is a learner's own: she is asked first."""


def test_no_page_asks_more_often_of_a_fuller_hall(full_hall: Hall) -> None:
    people = {kind: full_hall.enter(someone, known=True) for kind, someone in WHO_SEES.items()} | {"visitor": full_hall.visitor()}
    things = things_of(full_hall, people["learner"], people["keeper"])
    answers = answers_to(things["packet"], full_hall.clock().isoformat())
    assert send(people["learner"], answers[: len(answers) // 2]).status_code == 200
    full_hall.app.view_functions[PLANTED] = lambda: _one_by_one(full_hall.store)
    few = {endpoint: found for endpoint, path in _pages(full_hall, things).items() if (found := _asked(people, endpoint, path))}
    with full_hall.store.work() as db:
        multiply(db, COPIES)
    many = {endpoint: _asked({kind: people[kind]}, endpoint, path) for endpoint, (kind, path, _) in few.items()}
    assert len(few) > 140
    assert [endpoint for endpoint, found in many.items() if found is None] == [], "the fuller hall does not show these any more"
    grown = {endpoint: told for endpoint in few if (told := _told(endpoint, few[endpoint][2], many[endpoint][2]))}  # type: ignore[index]
    assert grown.pop(PLANTED), "a page that asks once a picture was not seen"
    assert not grown, "\n".join(grown.values())


def test_what_asks_as_often_or_less_is_not_told_and_what_asks_more_is() -> None:
    assert _told("learner.today", ["a", "b"], ["a"]) == ""
    assert _told("learner.today", ["a", "b"], ["b", "a"]) == ""
    assert _told("learner.today", ["a"], ["a", "a"]) == "learner.today: 1 statement, of the fuller hall 2, of which 1 more: a"
    assert _told("catalogue.preview", ["a"], ["a"] * (MORE["catalogue.preview"][0] + 1)) == ""
    assert _told("catalogue.preview", ["a"], ["a"] * (MORE["catalogue.preview"][0] + 2))


def _one_by_one(store: Store) -> str:
    """Do what no page may: ask for each picture by itself."""
    with store.look() as db:
        return str(len([db.get(PictureRow, number) for number in db.scalars(select(PictureRow.id))]))


def _told(endpoint: str, few: Sequence[str], many: Sequence[str]) -> str:
    """Say which statements a page sends more of than it may; nothing where it sends no more."""
    if len(many) <= len(few) + MORE.get(endpoint, (0, ""))[0]:
        return ""
    statement, more = (Counter(many) - Counter(few)).most_common(1)[0]
    counted = f"{len(few)} statement{'s' if len(few) != 1 else ''}, of the fuller hall {len(many)}, of which {more} more"
    return f"{endpoint}: {counted}: {' '.join(statement.split())[:200]}"


def _pages(hall: Hall, things: Mapping[str, Any]) -> dict[str, str]:
    """Return the address of every page, by endpoint."""
    values = {**things, "filename": "icon.svg", "icon_name": "icon-192", "name": "progress", "file_format": "csv"}
    reading = [rule for rule in rules_of(hall) if "GET" in methods_of(rule)]
    return {rule.endpoint: path_of(hall, rule, **values | {"token": values.get(rule.endpoint, "wrong")}) for rule in reading}


def _asked(people: Mapping[str, Visitor], endpoint: str, path: str) -> tuple[str, str, list[str]] | None:
    """Return who is shown a page, its address, and the statements that it takes; None where nobody is."""
    for kind in sorted(people, key=lambda kind: kind != "learner" if endpoint.startswith(HERS) else 0):
        with counted_statements() as asked:
            answer = people[kind].get(path)
        answer.close()
        if answer.status_code == 200:
            return kind, path, asked
    return None
