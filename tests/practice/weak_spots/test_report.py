"""The page of weak spots: what is ranked and why, what is asked for, small and empty classes, and what it costs to read."""

from __future__ import annotations

from datetime import timedelta
from random import Random

import pytest
from scipy.stats import norm
from sqlalchemy import event, select, text, update
from sqlalchemy.orm import Session

from drillhall.core.confusion import Change, Failing
from drillhall.practice.reports import weak_spots
from drillhall.practice.tables import Scope
from drillhall.practice.weak_spots.counting import Chosen
from drillhall.practice.weak_spots.pupil import the_pupil_spots
from drillhall.practice.weak_spots.report import WeakSpots, the_weak_spots
from drillhall.practice.weak_spots.seeing import the_own
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.seasons import AssignmentRow
from drillhall.store.session import Store
from drillhall.words.said import all_told
from tests.practice.weak_spots.classes import BEGAN, TODAY, Said, SmallClass, keep, make_class, simulate


def answers(made: SmallClass, pair: int, shown: int, said: int, times: int, *, days: float = 3, who: int = 0, **more: object) -> list[Said]:
    account, at = made.learners[who], BEGAN + timedelta(days=days)
    return [Said(account, pair, shown, said, at, **more) for _ in range(times)]  # type: ignore[arg-type]


def told(db: Session, made: SmallClass, chosen: Chosen | None = None) -> WeakSpots:
    return the_weak_spots(db, made.group, "teacher", chosen or Chosen(), today=TODAY)


def test_nobody_answered_and_nobody_is_there(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        page = told(db, made)
        assert (page.answers, page.spots, page.lessons, page.weeks, page.matrix.form_ids) == (0, (), (), (), ())
        assert [(one.shown, one.needs_help) for one in page.learners] == [(0, False)]
        pupil = the_pupil_spots(db, made.group, the_own(db, made.group, made.learners[0]), today=TODAY)
        assert (pupil.answers, pupil.met, pupil.change) == (0, 0, Change.UNSURE)
        db.execute(update(MembershipRow).values(until=BEGAN))
        assert (told(db, made).named, told(db, made).learners) == (0, ())


def test_a_class_of_one_has_its_counts_and_no_ranking_of_few(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        (first, (a, b)), (second, (c, d)), *_ = made.pairs.items()
        keep(db, answers(made, first, a, b, 3) + answers(made, second, c, d, 8) + answers(made, second, c, c, 16))
        page = told(db, made)
    # Three of three is too few to be ranked; eight of 24 stands before it.
    assert [(spot.direction.pair_id, spot.direction.is_few) for spot in page.spots] == [(second, False), (first, True)]
    assert (page.spots[0].direction.likely.low, page.spots[0].direction.likely.high) == pytest.approx((0.180, 0.533), abs=0.001)


def test_of_late_counts_more_than_long_ago(sqlite_store: Store) -> None:
    """One pair was missed half of the time six weeks ago and never since, the other only lately; in all both were missed alike."""
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        (old, (a, b)), (new, (c, d)), *_ = made.pairs.items()
        early = answers(made, old, a, b, 12, days=1) + answers(made, old, a, a, 12, days=40)
        keep(db, early + answers(made, new, c, c, 12, days=1) + answers(made, new, c, d, 12, days=40))
        page = told(db, made)
    assert [spot.direction.pair_id for spot in page.spots] == [new, old]
    assert page.spots[0].direction.rate > 0.5 > page.spots[1].direction.rate
    assert {one.pair.id: one.change for one in page.lessons} == {old: Change.FEWER, new: Change.MORE}
    assert sum(week.shown for week in page.weeks) == 48


@pytest.mark.parametrize(("seen", "fails"), [(True, Failing.KNOWING), (False, Failing.LOOKING)])
def test_it_says_whether_looking_or_knowing_fails(store: Store, seen: bool, fails: Failing) -> None:
    with store.work() as db:
        made = make_class(db, forms=5, learners=1)
        pair, (a, b) = next(iter(made.pairs.items()))
        keep(db, answers(made, pair, a, b, 12, prompt_right=seen) + answers(made, pair, a, a, 12, prompt_right=True))
        behind = told(db, made).behind[pair]
    assert behind.fails is fails
    assert (behind.prompted.misnamed, behind.prompted.both) == (12, 12)
    assert fails.value in behind.says.lower()
    # Two dozen prompts, and no trait behind it: that is not told as too few.
    assert (behind.trait, behind.prompted.asked) == ("", 24)
    assert behind.says.startswith("No one trait stands out as misread so far. ")


def test_every_cell_of_the_file_is_told_in_the_readers_words(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        (first, (a, b)), (second, (c, d)), *_ = made.pairs.items()
        seen = answers(made, second, c, d, 12, prompt_right=True) + answers(made, second, c, c, 12, prompt_right=True)
        keep(db, answers(made, first, a, b, 3, prompt_right=True) + seen)
        table = weak_spots.build(db, Scope(made.group, "class", TODAY, BEGAN))
    few, fails = (next(place for place, one in enumerate(table.columns) if one.key == key) for key in ("too_few", "fails"))
    told = [all_told(row, "de") for row in table.rows]
    assert [(row[few], row[fails]) for row in told] == [("nein", "es fehlt am Wissen"), ("ja", "zu wenige, um es zu sagen")]


def test_it_says_how_well_a_pair_is_told_apart_and_which_name_comes_too_easily(sqlite_store: Store) -> None:
    """Hits 7 of 10 and false alarms 1 of 10 with *neither* offered besides, which count nothing here; log-linear (Hautus 1995)."""
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        pair, (a, b) = next(iter(made.pairs.items()))
        first = answers(made, pair, a, a, 7) + answers(made, pair, a, b, 3)
        second = answers(made, pair, b, b, 9) + answers(made, pair, b, a, 1)
        keep(db, first + second + answers(made, pair, a, b, 20, three=True))
        lesson = told(db, made).lessons[0]
    assert lesson.apart is not None
    # z(7.5 / 11) - z(1.5 / 11) and minus half their sum, by scipy.stats.norm.ppf (SciPy 1.17.1).
    assert (lesson.apart.d_prime, lesson.apart.criterion) == pytest.approx((norm.ppf(7.5 / 11) - norm.ppf(1.5 / 11), 0.312), abs=0.001)
    assert lesson.leaning is not None
    assert lesson.leaning.id == b


def test_one_may_ask_for_some_answers_alone(store: Store) -> None:
    with store.work() as db:
        made = make_class(db, forms=6, learners=1)
        near, (a, b) = next(iter(made.pairs.items()))
        far = next(pair for pair, forms in list(made.pairs.items())[6:] if a in forms)
        left, right = answers(made, near, a, b, 2), answers(made, near, a, b, 3, orientation="right")
        keep(db, left + right + answers(made, near, b, a, 7) + answers(made, far, a, a, 11))
        given = db.scalars(select(AssignmentRow.id)).one()
        asked = {
            "orientation": told(db, made, Chosen(orientation="right")).answers,
            "stage": told(db, made, Chosen(stage=1)).answers,
            "assignment": told(db, made, Chosen(assignment_id=given)).answers,
            "adults": told(db, made, Chosen(life_stage="adult")).answers,
            "females": told(db, made, Chosen(sex="female")).answers,
            "wading": told(db, made, Chosen(pose="wading")).answers,
            "far off": told(db, made, Chosen(rendition="far off")).answers,
        }
    # The first form is an adult of no sex told and no pose, the second a female juvenile that wades.
    assert asked == {"orientation": 3, "stage": 11, "assignment": 23, "adults": 16, "females": 7, "wading": 7, "far off": 0}


def test_who_misses_more_than_the_class_stands_first_with_what(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=5)
        pair, (a, b) = next(iter(made.pairs.items()))
        kept = [one for who in range(4) for one in answers(made, pair, a, a, 30, who=who) + answers(made, pair, a, b, 2, who=who)]
        keep(db, kept + answers(made, pair, a, b, 20, who=4) + answers(made, pair, a, a, 12, who=4))
        page = told(db, made)
    first = page.learners[0]
    assert (first.pupil.name, first.needs_help, first.missed, first.shown) == ("P4", True, 20, 32)
    assert [(one.shown.id, one.said.id, one.missed) for one in first.troubles] == [(a, b, 20)]
    assert not any(one.needs_help for one in page.learners[1:])
    assert page.lessons[0].names == ("P4",)


def test_reading_a_class_scans_no_answers_and_asks_no_more_of_more_people(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=4)
        keep(db, simulate(made, {next(iter(made.pairs.values())): 0.6}, rounds=2, dice=Random(3)))
    asked: list[tuple[str, object]] = []
    with sqlite_store.look() as db:
        event.listen(db.get_bind(), "before_cursor_execute", lambda _, __, *said: asked.append((said[0], said[1])))
        told(db, made)
        many = [one for one in asked if one[0] != "BEGIN"]
        plans = [row for statement, values in many for row in db.connection().exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values)]
    scanned = [plan[3] for plan in plans if plan[3].startswith("SCAN") and plan[3].split()[1] in ("answer", "showing", "round", "tally")]
    assert scanned == []
    assert any("tally" in plan[3] for plan in plans), "the plan of reading the tally was seen"
    with sqlite_store.work() as db:
        db.execute(text("UPDATE membership SET until = since WHERE account_id > 2"))
    asked.clear()
    with sqlite_store.look() as db:
        told(db, made)
    assert len([one for one in asked if one[0] != "BEGIN"]) == len(many)
