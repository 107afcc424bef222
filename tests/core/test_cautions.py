"""Cautions: every subject says what it must in every place, plainly, and the banner for what may be eaten is always there."""

from __future__ import annotations

from itertools import product

import pytest

from drillhall.core.cautions import PLACES, cautions, fixed_banner
from drillhall.core.terms import SUBJECTS
from drillhall.errors import Invalid

WILD = [subject for subject in SUBJECTS if subject != "other"]
EATEN = ["plant", "fungus", "shellfish"]
EVERYWHERE = list(product(SUBJECTS, PLACES))


def said(subject: str, place: str) -> str:
    return " ".join(cautions(subject, place))


@pytest.mark.parametrize(("subject", "place"), EVERYWHERE)
def test_something_is_said_everywhere_in_plain_whole_sentences(subject: str, place: str) -> None:
    sentences = cautions(subject, place)
    assert sentences
    assert len(set(sentences)) == len(sentences)
    for sentence in sentences:
        assert sentence[0].isupper()
        assert sentence.endswith(".")
        assert "!" not in sentence
        assert len(sentence) <= 240


@pytest.mark.parametrize(("subject", "place"), [pair for pair in EVERYWHERE if pair[1] != "upload"])
def test_drill_is_practice_not_proof(subject: str, place: str) -> None:
    assert "practice, not proof" in said(subject, place)


@pytest.mark.parametrize(("subject", "place"), list(product(WILD, ["today", "drill_end", "print"])))
def test_rarities_are_for_the_committee_and_protected_species_for_the_licensed(subject: str, place: str) -> None:
    assert "local records committee" in said(subject, place)
    assert "licence" in said(subject, place)


@pytest.mark.parametrize(("subject", "place"), list(product(["bird", "other animal"], ["today", "print"])))
def test_nobody_presses_close_to_an_animal(subject: str, place: str) -> None:
    assert "Do not press close" in said(subject, place)


@pytest.mark.parametrize("subject", ["bird", "other animal", "shellfish"])
@pytest.mark.parametrize("place", ["today", "print"])
def test_tide_and_mud_are_named_where_people_walk_the_shore(subject: str, place: str) -> None:
    assert "Tide and mud kill" in said(subject, place)


def test_at_upload_the_bird_comes_first_without_nest_roost_or_place() -> None:
    words = said("bird", "upload")
    for needed in ("comes before the picture", "nest", "roost", "Name no place", "call, bait, light or drone"):
        assert needed in words


@pytest.mark.parametrize("subject", WILD)
def test_no_place_of_anything_rare_is_named_at_upload(subject: str) -> None:
    assert "Name no place" in said(subject, "upload")


@pytest.mark.parametrize(("subject", "place"), list(product(WILD, ["today", "upload", "print"])))
def test_local_rules_have_the_last_word(subject: str, place: str) -> None:
    assert cautions(subject, place)[-1] == "Local rules and wardens decide."


@pytest.mark.parametrize("subject", EATEN)
def test_nothing_is_eaten_on_the_strength_of_a_drill(subject: str) -> None:
    banner = fixed_banner(subject)
    assert banner.startswith("Never eat")
    assert "handle" in banner
    assert "emergency number" in banner
    assert "!" not in banner


def test_animals_that_sting_are_looked_at() -> None:
    assert fixed_banner("other animal").startswith("Look, do not touch.")


@pytest.mark.parametrize("subject", ["bird", "other"])
def test_no_banner_where_nothing_is_eaten_or_touched(subject: str) -> None:
    assert fixed_banner(subject) == ""


def test_set_about_no_wild_species_speaks_of_none() -> None:
    words = " ".join(said("other", place) for place in PLACES)
    for idle in ("species", "nest", "Tide", "wardens", "bird"):
        assert idle not in words


@pytest.mark.parametrize("subject", ["", "birds", "Bird", "dragon"])
def test_unknown_subject_is_refused_with_those_there_are(subject: str) -> None:
    for ask in (lambda: cautions(subject, "today"), lambda: fixed_banner(subject)):
        with pytest.raises(Invalid, match="bird, other animal, plant") as refused:
            ask()
        assert refused.value.field == "subject"


@pytest.mark.parametrize("place", ["", "Today", "everywhere"])
def test_unknown_place_is_a_mistake_of_the_page(place: str) -> None:
    with pytest.raises(ValueError, match="no cautions stand at"):
        cautions("bird", place)
