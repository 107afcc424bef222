"""The numbers that the page of how the drill decides tells: each from where it is decided, none written down a second time."""

from __future__ import annotations

import ast
import re
from datetime import date
from pathlib import Path

import pytest

from drillhall.core.pairs import fresh_lacking
from drillhall.core.placement import Placing, place
from drillhall.core.values import FreshAnswer
from drillhall.practice import deciding
from drillhall.practice.deciding import Numbers, field_ready_by, running_right

TOP = Path(__file__).resolve().parents[2]
PAGE = [TOP / "templates/help" / f"{name}.html" for name in ("how_the_drill_decides", "judging", "sources")]
IN_WORDS = r"\b(?:two|three|four|five|six|seven|eight|nine|ten|half|third|twice|thrice|dozen|hundred|percent)\b"
NOT_NUMBERS = ("Two questions", "a third form", "two forms", "two pictures side by side", "two of the same")


def test_no_number_is_written_where_they_are_gathered() -> None:
    tree = ast.parse(Path(deciding.__file__).read_text(encoding="utf-8"))
    numbers = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and type(node.value) in (int, float)]
    assert sorted(set(numbers)) == [1, deciding.PERCENT]


@pytest.mark.parametrize("page", PAGE, ids=lambda page: page.stem)
def test_no_number_is_written_on_the_page(page: Path) -> None:
    words = re.sub(r"\{#.*?#\}|\{\{.*?\}\}|\{%.*?%\}|<[^>]*>", " ", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    for known in NOT_NUMBERS:
        words = words.replace(known, "")
    assert re.findall(r"\d+", words) == []
    assert re.findall(IN_WORDS, words, re.IGNORECASE) == []


def test_every_number_is_told_on_the_page() -> None:
    told = " ".join(page.read_text(encoding="utf-8") for page in PAGE)
    assert [name for name in Numbers().by_name() if not re.search(rf"by\.{name}\b|[{{=]{name}\b", told)] == []


def test_the_values_of_today() -> None:
    """Written by hand, so that a constant that moves is seen on the page as well."""
    by = Numbers().by_name()
    assert (by["round_pictures"], by["least_form_share"], by["third_share"], by["most_third_share"]) == (3, 30, 5, 10)
    assert (by["certain"], by["probable"], by["possible"]) == (95, 80, 60)
    assert (by["field_ready_from"], by["latest_answers"], by["oldest_days"], by["first_rounds"]) == (70, 25, 180, 3)
    assert (by["target"], by["extra_one_in"], by["beside_one_in"], by["outing_weight"], by["half_life_weeks"]) == (90, 3, 6, 4, 4)


@pytest.mark.parametrize(("right", "shown"), [(9, 9), (14, 15), (19, 21), (22, 25)])
def test_field_ready_is_told_as_the_standing_asks_for_it(right: int, shown: int) -> None:
    today = date(2030, 5, 1)
    answers = [FreshAnswer(1, number >= shown - right, today, rounds_before=3) for number in range(shown)]
    assert (right, shown) in field_ready_by()
    assert fresh_lacking(answers, 1, today=today) == 0
    assert fresh_lacking(answers[:-1], 1, today=today) > 0


def test_so_many_right_running_pass_a_trial() -> None:
    running = running_right()
    assert place([True] * running) is Placing.PASSED
    assert place([True] * (running - 1)) is Placing.GOING_ON
