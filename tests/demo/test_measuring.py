"""Measuring a drawing: each state is told from the others of its trait by numbers, and a wrong one is refused."""

from __future__ import annotations

from itertools import combinations

import pytest
from skimage.color import rgb2lab

from drillhall.demo.book import read_book
from drillhall.demo.measuring import RANGES, lab, measure, shows_state
from drillhall.demo.painter.scene import Scene
from drillhall.demo.painter.studio import Painting, paint

BOOK = read_book()
PLAIN = Scene("mud", "overcast", "standing", 1, 0.68, 0.5, 0.80, 1.0, 0.0, 0.0, 0.2, 0.3)
LOOK_ALIKE = {frozenset({"none", "pale"}), frozenset({"none", "faint"})}
"""States that the numbers of their trait do not part: a thin pale ring, or a faint line over the eye, is not told from none."""


def _shows(form: str, trait: str, state: str, made: Painting | None = None) -> bool | None:
    made = made or paint(form, 3, PLAIN)
    return shows_state(BOOK.trait(trait), state, made.image, made)


@pytest.mark.parametrize("trait", RANGES)
def test_no_number_fits_two_states(trait: str) -> None:
    for (first, of_first), (second, of_second) in combinations(RANGES[trait].items(), 2):
        if frozenset({first, second}) in LOOK_ALIKE:
            continue
        shared = of_first.keys() & of_second.keys()
        apart = [of_first[name][1] < of_second[name][0] or of_second[name][1] < of_first[name][0] for name in shared]
        assert any(apart), (first, second)


@pytest.mark.parametrize("form", sorted(BOOK.states))
def test_a_plain_drawing_measures_as_what_is_said_of_its_form(form: str) -> None:
    made = paint(form, 3, PLAIN)
    measured = {key: _shows(form, key, state, made) for key, state in BOOK.states[form].items()}
    assert [key for key, is_shown in measured.items() if is_shown is False] in ([], ["tone"])  # the tint of one bird may differ
    assert sum(is_shown is True for is_shown in measured.values()) >= 3


@pytest.mark.parametrize(
    ("form", "trait", "wrong"),
    [
        ("dunlin_nonbreeding", "bill_shape", "straight"),
        ("dunlin_nonbreeding", "bill_shape", "curved"),
        ("curlew_sandpiper_juvenile", "bill_shape", "drooped_tip"),
        ("sanderling_nonbreeding", "bill_length", "longer"),
        ("sanderling_nonbreeding", "shoulder", "none"),
        ("common_sandpiper", "shoulder", "none"),
        ("dunlin_breeding", "belly", "white"),
        ("dunlin_nonbreeding", "belly", "black_patch"),
        ("kentish_plover_female", "breast_band", "closed"),
        ("ringed_plover_adult", "breast_band", "open"),
        ("little_ringed_plover_adult", "eye_ring", "none"),
        ("spotted_redshank_nonbreeding", "bill_colour", "red_root"),
        ("redshank_nonbreeding", "leg_colour", "orange"),
        ("wood_sandpiper", "leg_length", "medium"),
        ("wood_sandpiper", "supercilium", "front"),
        ("grey_plover_juvenile", "bill_strength", "slight"),
    ],
)
def test_a_wrong_state_is_refused(form: str, trait: str, wrong: str) -> None:
    assert _shows(form, trait, wrong) is False
    assert _shows(form, trait, BOOK.states[form][trait]) is True


def test_what_no_number_tells_is_not_measured() -> None:
    assert _shows("common_sandpiper", "body_build", "slim_low") is None
    assert _shows("common_sandpiper", "tail_reach", "level") is None


def test_a_hidden_bill_is_not_measured() -> None:
    probing = Scene("mud", "overcast", "feeding", 1, 0.68, 0.5, 0.80, 1.0, 0.0, 0.0, 0.2, 0.3)
    made = next(made for made in (paint("dunlin_nonbreeding", seed, probing) for seed in range(9)) if made.pose == "probing")
    assert measure("bill_shape", made.image, made) is None


@pytest.mark.parametrize("levels", [(0, 0, 0), (255, 255, 255), (200, 60, 30), (12, 13, 90), (133, 131, 112)])
def test_colours_are_the_ones_of_another_library(levels: tuple[float, float, float]) -> None:
    # Source: scikit-image's rgb2lab (D65, 2 degree observer); its white point has other last digits, hence the tolerance.
    expected = rgb2lab([[[level / 255 for level in levels]]])[0][0]
    assert lab(levels) == pytest.approx(tuple(expected), abs=0.05)
