"""The invented people: who they are, when they drill, and that what they can tell follows from what they have seen."""

from __future__ import annotations

from itertools import pairwise
from random import Random
from statistics import fmean

import pytest

from drillhall.core.values import Form, Sure
from drillhall.demo import scenario
from drillhall.demo.scenario import PEOPLE, Invented, chance_right, chance_trait_right, how_sure, list_days_ago, seconds_taken

PLAIN = Invented("Somebody", "learner", "", eye=1.0, zeal=0.5, began=20)


def _form(name: str, life_stage: str, plumage: str = "") -> Form:
    return Form(1, name, "", life_stage=life_stage, plumage=plumage)


def test_one_keeps_the_hall_and_several_learn() -> None:
    assert [person.is_keeper for person in PEOPLE].count(True) == 1
    assert [sum(one.group == group and not one.leads for one in PEOPLE) for group in (scenario.CLUB, scenario.CLASS)] == [5, 6]
    assert len({person.name.casefold() for person in PEOPLE}) == len(PEOPLE)


@pytest.mark.parametrize("person", PEOPLE, ids=lambda person: person.name)
def test_drills_are_in_order_within_the_weeks_and_never_today(person: Invented) -> None:
    days = list_days_ago(person, Random(3))
    assert all(earlier > later for earlier, later in pairwise(days))
    assert all(1 <= day <= 7 * scenario.WEEKS for day in days)
    assert (days[0] if days else 0) == person.began


def test_somebody_has_not_begun_and_somebody_has_been_away() -> None:
    last = [min(list_days_ago(person, Random(1)), default=0) for person in PEOPLE]
    assert last.count(0) == 1
    assert max(last) > 20


def test_a_pair_is_as_hard_as_its_stage_whichever_form_comes_first() -> None:
    dunlin, curlew = _form("Dunlin", "adult", "non-breeding"), _form("Curlew Sandpiper", "juvenile")
    assert scenario.stage_of(dunlin, curlew) == scenario.stage_of(curlew, dunlin) == 3
    assert scenario.stage_of(_form("Dunlin", "adult", "breeding"), _form("Little Stint", "juvenile")) == 1


def test_a_pair_that_the_demo_does_not_know_is_hard() -> None:
    assert scenario.stage_of(_form("Phoenix", "adult"), _form("Dunlin", "adult", "breeding")) == scenario.HARDEST


def test_a_beginner_is_little_better_than_chance_and_learns_by_pictures() -> None:
    chances = [chance_right(PLAIN, 3, pictures=seen, days_since=0, is_first=True) for seen in (0, 5, 20, 80)]
    assert chances[0] == pytest.approx(scenario.START[3])
    assert chances == sorted(chances)
    assert chances[-1] == pytest.approx(scenario.CEILING[3], abs=0.03)


def test_easy_pairs_are_easier_and_a_quick_eye_learns_quicker() -> None:
    easy, hard = (chance_right(PLAIN, stage, pictures=6, days_since=0, is_first=True) for stage in (1, 3))
    assert easy > hard
    quick = Invented("Quick", "learner", "", eye=1.8)
    assert chance_right(quick, 3, pictures=6, days_since=0, is_first=True) > hard


def test_what_somebody_brings_along_helps_with_well_marked_pairs_alone() -> None:
    old_hand = Invented("Old hand", "learner", "", knew=40)
    knows = [chance_right(old_hand, stage, pictures=0, days_since=0, is_first=True) for stage in (1, 2)]
    assert knows[0] == pytest.approx(scenario.CEILING[1], abs=0.02)
    assert knows[1] == scenario.START[2]


def test_what_was_learnt_fades_but_never_below_the_start() -> None:
    fresh, faded, long_gone = (chance_right(PLAIN, 2, pictures=40, days_since=days, is_first=True) for days in (1, 30, 5000))
    assert fresh > faded > long_gone >= scenario.START[2]


def test_a_lean_helps_one_form_and_hurts_the_other() -> None:
    leaning = Invented("Leaning", "learner", "", lean=0.5)
    first, second = (chance_right(leaning, 3, pictures=3, days_since=0, is_first=is_first) for is_first in (True, False))
    assert first > chance_right(PLAIN, 3, pictures=3, days_since=0, is_first=True) > second


@pytest.mark.parametrize("stage", [1, 2, 3])
@pytest.mark.parametrize("person", PEOPLE, ids=lambda person: person.name)
def test_chances_stay_chances(person: Invented, stage: int) -> None:
    for seen in (0, 7, 500):
        for is_first in (True, False):
            assert 0 < chance_right(person, stage, pictures=seen, days_since=seen, is_first=is_first) < 1
        assert 0.5 < chance_trait_right(person, stage, pictures=seen) < 1


def test_the_bold_are_certain_more_often_also_when_wrong() -> None:
    bold, shy = Invented("Bold", "learner", "", bold=0.9), Invented("Shy", "learner", "", bold=-0.9)
    said = {one.name: [how_sure(one, 0.75, is_right=False, dice=Random(seed)) for seed in range(80)] for one in (bold, shy)}
    assert said["Bold"].count(Sure.CERTAIN) > 20
    assert Sure.CERTAIN not in said["Shy"]


def test_the_surer_the_quicker() -> None:
    quick, slow = (fmean(seconds_taken(chance, Random(seed)) for seed in range(200)) for chance in (0.98, 0.5))
    assert 1 < quick < slow < 15


def test_a_wrong_choice_is_never_the_key() -> None:
    assert {scenario.wrong_choice(["3", "5", "0"], "5", Random(seed)) for seed in range(30)} == {"3", "0"}


def test_without_another_choice_there_is_no_wrong_one() -> None:
    with pytest.raises(IndexError):
        scenario.wrong_choice(["5"], "5", Random(1))


def test_what_the_class_has_got_wrong_is_wrong_for_its_learners_alone_and_one_way_round() -> None:
    curlew, dunlin = _form("Curlew Sandpiper", "juvenile"), _form("Dunlin", "adult", "non-breeding")
    pupil, teacher = (next(one for one in PEOPLE if one.group == scenario.CLASS and one.leads is leads) for leads in (False, True))
    seen = {"pictures": 80, "days_since": 0.0, "is_first": True}
    assert scenario.chance_of(pupil, curlew, dunlin, **seen) == pytest.approx(0.25)
    assert scenario.chance_of(pupil, dunlin, curlew, **seen) == chance_right(pupil, 3, **seen) > 0.8
    assert scenario.chance_of(teacher, curlew, dunlin, **seen) == chance_right(teacher, 3, **seen)
