import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.core.values import Mark
from drillhall.web.drawing import DETAIL_SHAPE, detail_of, ring_of


@st.composite
def marks(draw):
    x, y = draw(st.floats(0, 0.99)), draw(st.floats(0, 0.99))
    return Mark("t", x, y, draw(st.floats(0.001, 1 - x)), draw(st.floats(0.001, 1 - y)))


sizes = st.integers(300, 4000)


@given(marks(), sizes, sizes)
def test_a_close_up_lies_inside_its_picture(mark, width, height):
    detail = detail_of(mark, width, height)
    assert detail.x >= 0
    assert detail.y >= 0
    assert detail.x + detail.width <= width + 1
    assert detail.y + detail.height <= height + 1


@given(marks(), sizes, sizes)
def test_two_close_ups_stand_level_whatever_their_marks(mark, width, height):
    detail = detail_of(mark, width, height)
    assert detail.width / detail.height == pytest.approx(DETAIL_SHAPE, abs=0.03)


@given(marks(), sizes, sizes)
def test_a_close_up_holds_its_mark_wherever_the_picture_has_room_for_it(mark, width, height):
    detail = detail_of(mark, width, height)
    if detail.width < min(width, int(height * DETAIL_SHAPE)) - 1:
        assert detail.x <= mark.x * width + 1
        assert detail.x + detail.width >= (mark.x + mark.width) * width - 1
        assert detail.y <= mark.y * height + 1
        assert detail.y + detail.height >= (mark.y + mark.height) * height - 1


def test_a_ring_is_never_so_small_that_it_hides_its_mark():
    ring = ring_of(Mark("eye", 0.5, 0.5, 0.001, 0.001), 1000, 500)
    assert (ring.rx, ring.ry) == (20, 20)


def test_a_tall_mark_is_shown_whole_too():
    detail = detail_of(Mark("leg", 0.5, 0.4, 0.02, 0.3), 1200, 900)
    assert detail.y <= 0.4 * 900
    assert detail.y + detail.height >= 0.7 * 900
