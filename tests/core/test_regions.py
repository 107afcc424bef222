"""A region lies on its picture or is refused; cut and whole turn into each other; what is exported can be read back."""

from __future__ import annotations

from math import nan

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drillhall.core.regions import (
    WHOLE,
    NamedRegion,
    Region,
    annotation,
    annotation_page,
    check_region,
    clipped,
    in_cut,
    in_pixels,
    roi_rows,
)
from drillhall.errors import Invalid


@st.composite
def regions(draw: st.DrawFn, least: float = 0.01) -> Region:
    """Draw any region that lies on a picture."""
    width, height = draw(st.floats(least, 1)), draw(st.floats(least, 1))
    return check_region(draw(st.floats(0, 1 - width)), draw(st.floats(0, 1 - height)), width, height)


def on_whole(region: Region, frame: Region) -> Region:
    """Return a region of the cut to a frame as it lies on the whole picture: by hand, to turn `in_cut` round."""
    left, top = frame.x + region.x * frame.width, frame.y + region.y * frame.height
    return Region(left, top, region.width * frame.width, region.height * frame.height)


@given(regions(), regions())
def test_a_region_of_the_cut_comes_back_from_the_whole(region: Region, frame: Region) -> None:
    back = in_cut(on_whole(region, frame), frame)
    assert back is not None
    assert sides(back) == pytest.approx(sides(region), abs=1e-9)


@given(regions(), regions())
def test_what_is_shown_of_a_region_lies_in_region_and_frame(region: Region, frame: Region) -> None:
    shown = clipped(region, frame)
    assume(shown is not None)
    assert shown is not None
    for outer in (region, frame):
        assert shown.x >= outer.x - 1e-9
        assert shown.y >= outer.y - 1e-9
        assert shown.x + shown.width <= outer.x + outer.width + 1e-9
        assert shown.y + shown.height <= outer.y + outer.height + 1e-9


@given(regions(), regions())
def test_a_region_in_a_cut_is_a_valid_one(region: Region, frame: Region) -> None:
    shown = in_cut(region, frame)
    assume(shown is not None)
    assert shown is not None
    assert check_region(*sides(shown)) is not None


@given(regions())
def test_a_frame_of_the_whole_picture_changes_nothing(region: Region) -> None:
    shown = in_cut(region, WHOLE)
    assert shown is not None
    assert sides(shown) == pytest.approx(sides(region), abs=1e-12)


@given(regions(least=0.0011), st.integers(200, 8000), st.integers(50, 8000))
def test_pixels_never_leave_the_picture(region: Region, width_px: int, height_px: int) -> None:
    left, top, width, height = in_pixels(region, width_px, height_px)
    assert 0 <= left < left + width <= width_px
    assert 0 <= top < top + height <= height_px


@given(regions(least=0.0011))
def test_an_exported_region_is_valid_when_read_back(region: Region) -> None:
    row = roi_rows("urn:uuid:1", [NamedRegion("bill", "Bill", "bill", region)])[0]
    told = check_region(*(float(number) for number in row[2:6]))
    assert sides(told) == pytest.approx(sides(region), abs=2e-6)


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ((0.5, 0.5, 0.6, 0.2), "beyond the picture"),
        ((0.5, 0.5, 0.2, 0.6), "beyond the picture"),
        ((-0.1, 0.0, 0.5, 0.5), "beyond the picture"),
        ((0.0, 1.0, 0.5, 0.5), "beyond the picture"),
        ((0.5, 0.5, 0.0, 0.2), "no size"),
        ((0.5, 0.5, 0.2, -0.1), "no size"),
        ((nan, 0.5, 0.2, 0.1), "four numbers"),
        ((float("inf"), 0.5, 0.2, 0.1), "four numbers"),
    ],
)
def test_what_does_not_lie_on_the_picture_is_refused(numbers: tuple[float, float, float, float], words: str) -> None:
    with pytest.raises(Invalid, match=words) as told:
        check_region(*numbers, field="mark")
    assert told.value.field == "mark"


def test_a_region_beside_the_frame_is_not_shown_and_one_across_its_edge_is_cut() -> None:
    frame = Region(0.5, 0.5, 0.5, 0.5)
    assert in_cut(Region(0.0, 0.0, 0.4, 0.4), frame) is None
    assert in_cut(Region(0.0, 0.0, 0.5, 0.5), frame) is None  # it only touches
    assert in_cut(Region(0.25, 0.25, 0.5, 0.5), frame) == Region(0.0, 0.0, 0.5, 0.5)


def test_an_annotation_tells_the_region_in_whole_pixels() -> None:
    # Source: Media Fragments URI 1.0, section 4.2.2: four numbers without a decimal point, percent or pixel.
    one = NamedRegion("wing", "pale wing bar", "wing", Region(0.2575, 0.218369, 0.1125, 0.089972))
    told = annotation("https://hall.example/p/1", one, width_px=1600, height_px=1067, language="en", media_type="image/webp")
    assert told["target"]["selector"][0]["value"] == "xywh=pixel:412,233,180,96"


def test_a_page_of_annotations_says_its_context_once() -> None:
    page = annotation_page("urn:x", [{"@context": "y", "id": "urn:1"}])
    assert page["items"] == [{"id": "urn:1"}]
    assert page["@context"] == "http://www.w3.org/ns/anno.jsonld"


def sides(region: Region) -> tuple[float, float, float, float]:
    return region.x, region.y, region.width, region.height
