"""The pages that help: the glossary that traits lead to, and how the drill decides, with the reader's own wishes."""

from __future__ import annotations

import re
from html import unescape

import pytest
from flask import render_template_string

from drillhall.core.terms import PARTS
from drillhall.core.values import Trait, TraitKind
from drillhall.practice.deciding import Numbers
from tests.cast import LEARNER
from tests.visits import Hall


def words(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page)).split())


def test_every_part_has_its_place_on_the_page(hall: Hall) -> None:
    page = hall.visitor().get("/parts-of-a-bird").text
    for key in PARTS:
        assert page.count(f'id="{key}"') == 1, key
    numbered = re.findall(r'<a href="#([\w-]+)"', page)
    assert re.findall(r'<li id="([\w-]+)"', page) == numbered
    assert set(numbered) <= set(PARTS)


def test_the_drawing_says_that_it_is_one(hall: Hall) -> None:
    assert "A drawing of this project, of no one species" in words(hall.visitor().get("/parts-of-a-bird").text)


def test_the_page_tells_a_visitor_nobodys_wishes(hall: Hall) -> None:
    page = words(hall.visitor().get("/how-the-drill-decides").text)
    assert "minutes a day" not in page
    assert "9 of 9, 14 of 15, 19 of 21 or 22 of 25 right" in page


def test_the_page_tells_the_reader_her_own_wishes(hall: Hall) -> None:
    learner = hall.enter(LEARNER)
    wishes = {"zone": "UTC", "minutes_a_day": "25", "target_recall": "85", "new_a_day": "0", "round_length": "4", "colour_vision": ""}
    assert learner.post("/settings", wishes).status_code == 303
    page = words(learner.get("/how-the-drill-decides").text)
    assert "25 minutes a day, up to 0 pairs to meet a day, 4 pictures a round" in page
    assert "85 times in 100" in page


def test_a_number_that_moves_moves_on_the_page(hall: Hall, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drillhall.web.helping.deciding.Numbers", lambda: Numbers(fresh_after_days=61, outing_weight=4.5))
    page = words(hall.visitor().get("/how-the-drill-decides").text)
    assert "not seen for 61 days" in page
    assert "taken 4.5 times" in page


def part_told(hall: Hall, part: str, subject: str) -> str:
    """Return what a page tells of where a trait is."""
    trait = Trait("some", "Some trait", part, TraitKind.COLOUR, (), subject=subject)
    with hall.app.test_request_context():
        return render_template_string('{% from "parts/part.html" import part_link %}{{ part_link(trait) }}', trait=trait).strip()


@pytest.mark.parametrize(("part", "leads"), [("bill", True), ("wing-panel", True), ("whole", False), ("gill edge", False), ("", False)])
def test_a_trait_leads_to_its_part_where_the_glossary_tells_it(hall: Hall, part: str, leads: bool) -> None:
    told = part_told(hall, part, "bird")
    assert (f'href="/parts-of-a-bird#{part}"' in told) is leads
    assert bool(told) is leads


@pytest.mark.parametrize("subject", ["other animal", "fungus", ""])
def test_a_trait_of_no_bird_names_its_part_and_leads_nowhere(hall: Hall, subject: str) -> None:
    assert part_told(hall, "wing", subject) == "wing"
