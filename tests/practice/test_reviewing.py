"""What is said of a learner's own words of sureness: nothing against what the chart beside it shows."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from drillhall.core.confusion import calibration
from drillhall.core.values import Direction, Form, Interval, Pair, Sure
from drillhall.practice import reviewing
from drillhall.practice.reviewing import how_sure_in_words, mixes_up_in_words, the_standing
from drillhall.store.models.practice import AnswerRow
from drillhall.store.queries.standing import sure_answers
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.small_hall import NOON, SmallHall


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


@pytest.mark.parametrize(
    ("shown", "says"),
    [(1, "You took Reed Ploon for Silt Ploon the only time you were shown it: "), (3, "You took Reed Ploon for Silt Ploon 3 of 3 times: ")],
)
def test_a_form_shown_once_alone_is_told_so(shown: int, says: str) -> None:
    all_of_it = Interval(0, 1)
    both = tuple(Direction(form, 0, times, 0, 0, all_of_it, all_of_it, 0.5) for form, times in ((1, shown), (2, 0)))
    pair = Pair(7, Form(1, "Reed Ploon", "Exempla ludi"), Form(2, "Silt Ploon", "Exempla limi"))
    assert mixes_up_in_words(pair, (both[0], both[1])).startswith(says)


def test_one_figure_of_sureness_is_told_from_enough_answers(store: Store, hall: SmallHall, monkeypatch: pytest.MonkeyPatch) -> None:
    with store.work() as db:
        play(db, hall.learner, at=NOON, knows=lambda view, _: view.id % 2 == 0)
        page = the_standing(db, hall.learner, now=NOON)
        said, right = (sum(getattr(line.forecast, name) for line in page.calibration) for name in ("said", "right"))
        assert page.sureness is not None
        assert page.sureness.uncertainty == pytest.approx(right / said * (1 - right / said))
        monkeypatch.setattr(reviewing, "SURE_ENOUGH", said + 1)
        assert the_standing(db, hall.learner, now=NOON).sureness is None


def test_of_what_was_said_twice_the_first_counts_and_what_tells_the_same_is_one(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        play(db, hall.learner, at=NOON, knows=lambda view, _: view.id % 2 == 0)
        said = db.scalars(select(AnswerRow).where(AnswerRow.sure.is_not(None)).order_by(AnswerRow.at)).all()
        once = list(sure_answers(db, hall.learner))
        assert sum(one.times for one in once) == len(said) > len(once)
        lines = the_standing(db, hall.learner, now=NOON).calibration
        for number, first in enumerate(said):
            told = {column.key: getattr(first, column.key) for column in AnswerRow.__table__.columns}
            again = {"id": f"again-{number}", "sure": "certain", "said": "0", "at": first.at + timedelta(days=1)}
            db.add(AnswerRow(**(told | again)))
        db.flush()
        assert sorted(sure_answers(db, hall.learner), key=repr) == sorted(once, key=repr)
        assert the_standing(db, hall.learner, now=NOON).calibration == lines
        assert sum(one.times for one in sure_answers(db, hall.learner, limit=len(said) + 2)) == 2
