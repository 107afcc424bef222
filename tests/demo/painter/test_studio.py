"""Painting one drawing: the same again from the same seed, whole in its frame, and what is said of it."""

from __future__ import annotations

import doctest
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from hashlib import sha256

import pytest
from PIL import Image, ImageStat

from drillhall.demo.painter import curves
from drillhall.demo.painter.forms import list_keys, overlay
from drillhall.demo.painter.scene import Scene, stage
from drillhall.demo.painter.studio import SIZE, Painting, paint

PLAIN = Scene("mud", "overcast", "standing", 1, 0.68, 0.5, 0.80, 1.0, 0.0, 0.0, 0.2, 0.3)


@pytest.fixture(scope="module")
def dunlin() -> Painting:
    return paint("dunlin_nonbreeding", 5, PLAIN)


def _digest(made: Painting) -> str:
    return sha256(made.image.tobytes()).hexdigest()


def _luma(picture: Image.Image, mask: Image.Image) -> float:
    return float(ImageStat.Stat(picture.convert("L"), mask).mean[0])


def test_a_seed_paints_the_same_picture_in_another_process() -> None:
    code = (
        "from hashlib import sha256\nfrom drillhall.demo.painter.studio import paint\n"
        "print(sha256(paint('wood_sandpiper', 3).image.tobytes()).hexdigest())"
    )
    other = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert other.stdout.strip() == _digest(paint("wood_sandpiper", 3))


def test_another_seed_paints_another_bird_in_the_same_scene(dunlin: Painting) -> None:
    assert _digest(paint("dunlin_nonbreeding", 6, PLAIN)) != _digest(dunlin)


def test_a_form_nobody_knows_is_not_painted() -> None:
    with pytest.raises(KeyError, match="dodo"):
        paint("dodo", 1)


def test_the_bird_is_whole_in_its_frame(dunlin: Painting) -> None:
    left, top, right, bottom = dunlin.mask.getbbox() or (0, 0, 0, 0)
    assert dunlin.image.size == SIZE
    assert left > 4
    assert top > 4
    assert right < SIZE[0] - 4
    assert bottom < SIZE[1] - 4


def test_regions_lie_where_the_parts_are(dunlin: Painting) -> None:
    bill, head, eye, legs, tail = (dunlin.regions[name] for name in ("bill", "head", "eye", "legs", "tail"))
    assert bill[0] > head[0]  # it faces right
    assert tail[0] < head[0]
    assert head[0] < eye[0] < head[0] + head[2]
    assert head[1] < eye[1] < head[1] + head[3]
    assert legs[1] > head[1] + head[3]


def test_facing_left_is_the_mirror_of_facing_right() -> None:
    left = paint("dunlin_nonbreeding", 5, replace(PLAIN, facing=-1))
    assert left.regions["bill"][0] < left.regions["head"][0]
    assert left.regions["tail"][0] > left.regions["head"][0]


def test_what_is_under_water_is_neither_in_view_nor_marked() -> None:
    wading = paint("dunlin_nonbreeding", 5, replace(PLAIN, setting="water", wet=0.55))
    standing = paint("dunlin_nonbreeding", 5, PLAIN)
    assert wading.seen["legs"] < 0.7 < standing.seen["legs"]
    assert wading.regions["legs"][3] < standing.regions["legs"][3]


def test_a_bill_in_the_mud_is_not_wholly_in_view() -> None:
    probing = [paint("dunlin_nonbreeding", seed, replace(PLAIN, pose="feeding")) for seed in range(4)]
    sunk = [made.seen["bill"] for made in probing if made.pose == "probing"]
    assert sunk
    assert max(sunk) < 0.95


def test_warm_light_tints_the_mud_and_leaves_a_grey_bird_grey() -> None:
    warm, plain = (paint("sanderling_nonbreeding", 5, replace(PLAIN, light=light)) for light in ("warm", "overcast"))
    shift = {name: _warmth(warm, name) - _warmth(plain, name) for name in ("bird", "mud")}
    assert shift["mud"] > 8
    assert abs(shift["bird"]) < 0.4 * shift["mud"]


def _warmth(made: Painting, where: str) -> float:
    mask = made.mask.point([255 if (level > 200) == (where == "bird") else 0 for level in range(256)])
    red, _, blue = ImageStat.Stat(made.image, mask).mean
    return float(red - blue)


@pytest.mark.parametrize("key", ["dunlin_breeding", "kentish_plover_female", "black_tailed_godwit_nonbreeding"])
def test_settings_lights_and_sides_come_round_evenly(key: str) -> None:
    dealt = [stage(key, seed) for seed in range(32)]
    for field in ("setting", "light", "facing"):
        counts = Counter(getattr(scene, field) for scene in dealt)
        assert max(counts.values()) - min(counts.values()) <= 2, (field, counts)


def test_haze_brightens_a_dark_bird() -> None:
    clear, hazy = (paint("dunlin_breeding", 2, replace(PLAIN, haze=haze)) for haze in (0.0, 0.25))
    assert _luma(hazy.image, hazy.parts["belly"]) > _luma(clear.image, clear.parts["belly"]) + 15


def test_every_form_has_its_measures_and_a_build() -> None:
    assert len(list_keys()) >= 16
    for key in list_keys():
        assert paint(key, 1, PLAIN).seen["whole"] > 0.95, key


def test_what_a_form_is_like_gives_way_to_what_it_says_itself() -> None:
    assert overlay({"a": {"x": 1, "y": 2}, "b": 3}, {"a": {"y": 5}}) == {"a": {"x": 1, "y": 5}, "b": 3}


def test_examples_in_the_text_hold() -> None:
    assert doctest.testmod(curves).failed == 0


def test_a_leg_too_short_for_its_step_is_stretched_and_not_torn() -> None:
    joint = curves.bend(0j, 100 + 0j, 30, 40)
    assert abs(joint - 0j) == pytest.approx(30, abs=1.5)
