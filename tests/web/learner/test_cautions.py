"""Cautions stand where they belong: on Today, in and after the drill, on prints; the banner on what may be eaten stays in sight."""

from __future__ import annotations

from html import unescape

import pytest
from sqlalchemy import update

from drillhall.core.cautions import cautions, fixed_banner
from drillhall.store.models.catalogue import CatalogueRow
from tests.practice.small_hall import SmallHall
from tests.visits import Hall, Visitor
from tests.web.learner.test_drill import answers_to, begin, send


def words(visitor: Visitor, path: str) -> str:
    return " ".join(unescape(visitor.get(path).text).split())


@pytest.fixture
def edible(hall: Hall, learner: Visitor, request: pytest.FixtureRequest) -> str:
    """The catalogue is about something that may be eaten; returns its banner."""
    subject = request.param
    with hall.store.work() as db:
        db.execute(update(CatalogueRow).values(subject=subject))
    return " ".join(fixed_banner(subject).split())


@pytest.mark.parametrize("edible", ["plant", "fungus", "shellfish"], indirect=True)
def test_the_banner_stands_on_every_page_of_the_main_job(hall: Hall, learner: Visitor, small: SmallHall, edible: str) -> None:
    assert edible
    assert edible in words(learner, "/")
    for path in ("/my-pictures", "/standing", "/shelf"):
        assert edible in words(learner, path), path
    packet = begin(learner)
    meet = words(learner, "/drill")
    asked = words(learner, f"/drill?met={packet['rounds'][0]['round']}")
    assert edible in meet
    assert edible in asked
    send(learner, answers_to(packet, hall.clock().isoformat()))
    assert edible in words(learner, "/drill/end")
    assert edible in words(learner, f"/pairs/{small.pairs[0]}")


@pytest.mark.parametrize("edible", ["fungus"], indirect=True)
def test_the_banner_stays_when_a_learner_is_no_longer_new(hall: Hall, learner: Visitor, edible: str) -> None:
    for _ in range(3):
        send(learner, answers_to(begin(learner), hall.clock().isoformat()))
    assert edible in words(learner, "/")


def test_a_catalogue_of_birds_has_no_such_banner(learner: Visitor) -> None:
    assert 'role="note"' not in learner.get("/").text


@pytest.mark.parametrize("path", ["/", "/standing", "/shelf", "/my-pictures"])
def test_every_print_says_that_a_drill_is_practice(learner: Visitor, path: str) -> None:
    printed = words(learner, path).partition('on-print">')[2]
    assert all(" ".join(line.split()) in printed for line in cautions("other", "print"))


def test_a_print_of_a_pair_carries_its_cautions(learner: Visitor, small: SmallHall) -> None:
    page = words(learner, f"/pairs/{small.pairs[0]}")
    lines = cautions("bird", "print")
    assert lines
    assert all(" ".join(line.split()) in page for line in lines)
