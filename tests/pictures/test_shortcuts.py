"""Shortcuts: what gives a form away beside the organism itself."""

from __future__ import annotations

import doctest
from itertools import product
from random import Random

import pytest
from PIL import Image, ImageFilter
from sklearn.metrics import roc_auc_score

from drillhall.pictures import shortcuts
from drillhall.pictures.shortcuts import Circumstances, find_shortcuts, measure_look, number_area, word_area


def _in(setting: str, brightness: float) -> Circumstances:
    return Circumstances({"brightness": brightness}, {"setting": setting})


def test_a_setting_of_its_own_gives_a_form_away() -> None:
    firsts = [_in("mud", 100 + n) for n in (0, 3, 6, 9, 12)]
    seconds = [_in("reeds", 101 + n) for n in (0, 3, 6, 9, 12)]
    worst, *rest = find_shortcuts(firsts, seconds)
    assert (worst.what, worst.area, worst.is_alarming) == ("setting", 1.0, True)
    assert not any(shortcut.is_alarming for shortcut in rest)


def test_settings_dealt_evenly_are_no_better_than_chance() -> None:
    dealt = ["mud", "reeds", "water", "mud", "reeds", "water"]
    assert word_area(dealt, dealt) <= 0.5


def test_a_word_mostly_of_one_form_has_the_area_of_the_whole_sample() -> None:
    # Source: scikit-learn's roc_auc_score of how often each form has the word.
    firsts, seconds = ["mud"] * 16 + ["reeds"] * 4, ["mud"] * 3 + ["reeds"] * 17
    expected = roc_auc_score([1] * 20 + [0] * 20, [1.0 if word == "mud" else 0.0 for word in firsts + seconds])
    assert word_area(firsts, seconds) == pytest.approx(expected, abs=1e-12)


def test_a_word_that_all_share_is_chance() -> None:
    assert word_area(["mud"] * 4, ["mud"] * 5) == 0.5


def test_brightness_that_says_nothing_is_near_chance() -> None:
    dice = Random(11)
    areas = [number_area([dice.gauss(0, 1) for _ in range(20)], [dice.gauss(0, 1) for _ in range(20)]) for _ in range(60)]
    assert sum(areas) / len(areas) == pytest.approx(0.5, abs=0.07)


def test_with_a_wide_gap_the_area_is_that_of_the_whole_sample() -> None:
    # Source: scikit-learn's roc_auc_score. Where leaving two out never turns the rule, both are the same number.
    dice = Random(4)
    firsts, seconds = [dice.gauss(3, 1) for _ in range(20)], [dice.gauss(0, 1) for _ in range(20)]
    expected = roc_auc_score([1] * 20 + [0] * 20, firsts + seconds)
    assert number_area(firsts, seconds) == pytest.approx(expected, abs=1e-12)


def test_leaving_both_out_is_done_as_it_is_said() -> None:
    firsts, seconds = [5.0, 1.0, 4.0], [2.0, 2.0, 6.0]
    right = 0.0
    for i, j in product(range(3), range(3)):
        rest = [x for k, x in enumerate(firsts) if k != i], [x for k, x in enumerate(seconds) if k != j]
        vote = (sum(rest[0]) / 2 - sum(rest[1]) / 2) * (firsts[i] - seconds[j])
        right += 1 if vote > 0 else 0.5 if vote == 0 else 0
    assert number_area(firsts, seconds) == right / 9


def test_too_few_pictures_say_nothing() -> None:
    assert find_shortcuts([_in("mud", 1), _in("mud", 2)], [_in("reeds", n) for n in range(9)]) == ()


def test_what_is_not_known_of_every_picture_is_not_judged() -> None:
    firsts = [_in("mud", n) for n in range(3)]
    seconds = [Circumstances({"brightness": float(n)}) for n in range(3)]
    assert [shortcut.what for shortcut in find_shortcuts(firsts, seconds)] == ["brightness"]


def test_a_look_is_measured_in_levels() -> None:
    grey, red = Image.new("RGB", (960, 640), (80, 80, 80)), Image.new("RGB", (96, 64), (200, 100, 50))
    assert measure_look(grey) == pytest.approx({"brightness": 80, "red against green": 0, "blue against yellow": 0, "sharpness": 0})
    assert measure_look(red)["red against green"] == 100
    assert measure_look(red)["blue against yellow"] == -100


def test_blur_is_less_sharp_and_enlarging_is_not_sharper() -> None:
    noise = Image.effect_noise((480, 320), 60)
    sharp = measure_look(noise)["sharpness"]
    assert measure_look(noise.filter(ImageFilter.GaussianBlur(2)))["sharpness"] < 0.5 * sharp
    assert measure_look(noise.resize((960, 640), Image.Resampling.NEAREST))["sharpness"] == pytest.approx(sharp, rel=0.01)


def test_examples_in_the_text_hold() -> None:
    assert doctest.testmod(shortcuts).failed == 0
