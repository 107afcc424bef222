"""What is said of a learner's own words of sureness: nothing against what the chart beside it shows."""

from __future__ import annotations

import pytest

from drillhall.core.confusion import calibration
from drillhall.core.values import Sure
from drillhall.practice.reviewing import how_sure_in_words


@pytest.mark.parametrize(
    ("certain", "probable", "possible", "says"),
    [
        ((0, 0), (0, 0), (0, 0), ""),
        ((5, 0), (6, 0), (0, 0), ""),
        ((12, 5), (0, 0), (0, 0), "too sure"),
        ((0, 0), (30, 30), (0, 0), "too modest"),
        ((9, 9), (6, 5), (0, 0), "fits what you know"),
        ((9, 5), (11, 7), (11, 4), "too few times yet"),
        ((0, 0), (11, 0), (11, 6), "too few times yet"),
    ],
)
def test_words_fit_only_where_every_line_reaches_its_post(
    certain: tuple[int, int], probable: tuple[int, int], possible: tuple[int, int], says: str
) -> None:
    told = how_sure_in_words(calibration({Sure.CERTAIN: certain, Sure.PROBABLE: probable, Sure.POSSIBLE: possible}))
    assert (says in told) if says else told == ""
