"""What beside the organism tells a pair apart: judged by those pictures that say it, and told with how it lies."""

from __future__ import annotations

from random import Random

import pytest

from drillhall.pictures.looks import Look, judge


def looks(count: int, *, brightness: float = 100, seed: int = 1, **words: str) -> list[Look]:
    dice = Random(seed)
    return [Look({"brightness": brightness + dice.random(), "size": 960.0}, dict(words)) for _ in range(count)]


def test_a_setting_that_gives_the_answer_away_is_told_with_how_it_lies() -> None:
    found = judge(looks(6, setting="mud"), [*looks(5, setting="grass", seed=2), *looks(1, setting="mud", seed=3)])
    alarming = [one for one in found if one.shortcut.is_alarming]
    [setting] = [one for one in alarming if one.shortcut.what == "setting"]
    assert (setting.word, setting.having, setting.counts) == ("grass", (0, 5), (6, 6))


def test_light_that_gives_the_answer_away_is_told_with_its_means() -> None:
    [brightness] = [one for one in judge(looks(5, brightness=180), looks(5, brightness=60)) if one.shortcut.what == "brightness"]
    assert brightness.shortcut.area == 1.0
    assert brightness.means[0] > 180 > brightness.means[1] > 60


def test_what_is_alike_on_both_sides_alarms_nobody() -> None:
    same = [Look({"brightness": 100.0}, {"setting": "mud"}) for _ in range(4)]
    assert all(one.shortcut.area == 0.5 for one in judge(same, same))


def test_a_word_is_judged_by_the_pictures_that_say_it() -> None:
    found = judge([*looks(3, pose="feeding"), *looks(3)], looks(4, pose="resting", seed=2))
    [pose] = [one for one in found if one.shortcut.what == "pose"]
    assert pose.counts == (3, 4)


@pytest.mark.parametrize("count", [0, 1, 2])
def test_too_few_pictures_tell_nothing(count: int) -> None:
    assert judge(looks(count, setting="mud"), looks(8, setting="grass")) == ()


def test_the_most_telling_stands_first() -> None:
    areas = [one.shortcut.area for one in judge(looks(5, setting="mud", brightness=200), looks(5, setting="mud", seed=2))]
    assert areas == sorted(areas, reverse=True)
