"""Forms of one name are told apart by what they wear, and where they wear the same by what they are called in Latin."""

from __future__ import annotations

from drillhall.core.values import Form
from drillhall.practice.weak_spots.naming import Finer, told_finer

ADULT = Form(1, "Sluice Stint", "Exempla exclusae", life_stage="adult", plumage="non-breeding")
YOUNG = Form(2, "Sluice Stint", "Exempla exclusae", life_stage="juvenile")
OTHER = Form(3, "Mud Stint", "Exempla limi", life_stage="juvenile")
NAMESAKE = Form(4, "sluice stint", "Exempla altera", life_stage="juvenile")
PLAIN = Form(5, "Sluice Stint", "Exempla exclusae")


def test_a_name_that_one_form_bears_says_enough() -> None:
    assert told_finer([ADULT, OTHER, ADULT]) == {}
    assert told_finer([]) == {}


def test_what_is_worn_tells_forms_of_one_name_apart_whatever_else_is_there() -> None:
    assert told_finer([ADULT, OTHER, YOUNG, PLAIN]) == {
        ADULT.id: Finer(ADULT.wears),
        YOUNG.id: Finer(YOUNG.wears),
        PLAIN.id: Finer(""),
    }


def test_namesakes_that_wear_the_same_are_called_in_latin() -> None:
    assert told_finer([ADULT, YOUNG, NAMESAKE]) == {
        ADULT.id: Finer(ADULT.wears),
        YOUNG.id: Finer(YOUNG.wears, "Exempla exclusae"),
        NAMESAKE.id: Finer(NAMESAKE.wears, "Exempla altera"),
    }
