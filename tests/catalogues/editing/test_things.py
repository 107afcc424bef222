"""Edits of one catalogue's value: what goes along with what, and what is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from drillhall.catalogues.editing import things
from drillhall.catalogues.editing.asked import FORM, HEAD, TRAIT, read_asked, read_called, read_colour
from drillhall.catalogues.editing.changing import list_faults, refuse_faults
from drillhall.catalogues.editing.fields import read_chance
from drillhall.catalogues.editing.things import SaidState
from drillhall.catalogues.folder import FolderCalled, FolderCatalogue, FolderThird, SaidChance
from drillhall.errors import Invalid, NotFound
from tests.catalogues import folders

NEW_FORM = {"vernacular_name": "Weir Oozer", "scientific_name": "Fictavis sclusae", "taxon_rank": "species"}
TWO = (SaidState("", "short"), SaidState("", "long"))


@pytest.fixture
def said(tmp_path: Path) -> FolderCatalogue:
    """The mudflat: three forms, two traits, a pair with a third, a set of it."""
    return folders.read(folders.write(tmp_path / "mudflat"))


def form_values(**changes: str) -> dict[str, Any]:
    return read_asked(FORM, NEW_FORM | changes)


def trait_values(**changes: str) -> dict[str, Any]:
    return read_asked(TRAIT, {"label": "Tail", "part": "tail", "kind": "size"} | changes)


def test_a_form_gets_a_key_and_a_concept(said: FolderCatalogue) -> None:
    made = things.add_form(said, form_values(life_stage="adult"), taken=()).forms[-1]
    assert (made.key, made.taxon_concept_id) == ("weir_oozer_adult", "invented-list-2031/fictavis-sclusae")


def test_a_key_once_used_is_not_given_again(said: FolderCatalogue) -> None:
    made = things.add_form(said, form_values(), taken={"weir_oozer"}).forms[-1]
    assert made.key == "weir_oozer_2"
    assert things.make_key("弥生", ()) == "one"


def test_a_form_that_is_there_already_is_refused(said: FolderCatalogue) -> None:
    twin = form_values(vernacular_name="Oozer", scientific_name="Fictavis limosa", life_stage="adult")
    with pytest.raises(Invalid, match="the same form as lesser"):
        refuse_faults(said, things.add_form(said, twin, taken=()))


def test_a_form_goes_with_its_pairs_and_its_places_as_a_third(said: FolderCatalogue) -> None:
    without = things.retire_form(said, "third")
    assert without.pairs[0].thirds == ()
    assert len(without.sets) == 1
    alone = things.retire_form(said, "lesser")
    assert (alone.pairs, alone.sets) == ((), ())
    assert list_faults(without) == list_faults(alone) == ()


def test_a_trait_goes_with_what_is_said_by_it(said: FolderCatalogue) -> None:
    without = things.retire_trait(said, "bill")
    assert all("bill" not in form.traits for form in without.forms)
    assert without.pairs[0].thirds == ()
    assert list_faults(without) == ()


def test_a_state_goes_with_what_is_said_of_it(said: FolderCatalogue) -> None:
    states = (SaidState("straight", "straight"), SaidState("", "hooked"))
    changed = things.change_trait(said, "bill", trait_values(label="Bill", part="bill", kind="structure"), states)
    assert [state.key for state in changed.traits[0].states] == ["straight", "hooked"]
    assert [sorted(form.traits) for form in changed.forms] == [["bill", "legs"], ["legs"], []]


def test_a_state_keeps_what_no_page_asks(said: FolderCatalogue) -> None:
    states = (SaidState("pale", "yellowish", ("straw",), "#ddcc55"), SaidState("dark", "dark", (), "#2b2722"))
    legs = things.change_trait(said, "legs", trait_values(label="Legs"), states).traits[1]
    assert [(state.key, state.label, state.also_called) for state in legs.states] == [
        ("pale", "yellowish", ("straw",)),
        ("dark", "dark", ()),
    ]


@pytest.mark.parametrize(
    ("states", "why"),
    [
        ((), "at least two states"),
        ((SaidState("", "short"),), "at least two states"),
        ((SaidState("", "short"), SaidState("", "Short")), "the same word"),
        ((SaidState("", ""), SaidState("", "long")), "without a word"),
    ],
)
def test_a_trait_with_states_that_tell_nothing_is_refused(said: FolderCatalogue, states: tuple[SaidState, ...], why: str) -> None:
    with pytest.raises(Invalid, match=why) as refused:
        things.add_trait(said, trait_values(), states, taken=())
    assert refused.value.field == "states"


def test_two_states_never_share_a_key(said: FolderCatalogue) -> None:
    with pytest.raises(Invalid, match="one key"):
        things.change_trait(said, "bill", trait_values(), (SaidState("bent", "bent"), SaidState("bent", "hooked")))
    made = things.add_trait(said, trait_values(), (SaidState("", "a b"), SaidState("", "a-b")), taken=()).traits[-1]
    assert [state.key for state in made.states] == ["a_b", "a_b_2"]


@pytest.mark.parametrize(
    ("first", "second", "field", "why"),
    [
        ("lesser", "lesser", "second", "with itself"),
        ("greater", "lesser", "second", "a pair of this catalogue already"),
        ("lesser", "nobody", "second", "Choose a form"),
        ("", "lesser", "first", "Choose a form"),
    ],
)
def test_a_pair_that_cannot_be_is_refused(said: FolderCatalogue, first: str, second: str, field: str, why: str) -> None:
    with pytest.raises(Invalid, match=why) as refused:
        things.add_pair(said, first, second)
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("states", "why"),
    [
        ({"straight": "rarely", "bent": "rarely"}, r"come to 0\.20 in all"),
        ({"straight": "always", "bent": "usually"}, r"come to 1\.83 in all"),
        ({"straight": "mostly"}, "is no word for how often"),
        ({"straight": "21 of 20"}, "is no count"),
        ({"straight": "0 of 0"}, "is no count"),
        ({"straight": "1 of 9999999"}, "is no count"),
    ],
)
def test_chances_that_cannot_be_meant_are_refused(said: FolderCatalogue, states: dict[str, str], why: str) -> None:
    cells: dict[things.Cell, SaidChance | None] = {("lesser", "bill", state): read_chance(typed) for state, typed in states.items()}
    with pytest.raises(Invalid, match=why):
        refuse_faults(said, things.say_chances(said, cells))


def test_chances_of_what_is_gone_are_refused(said: FolderCatalogue) -> None:
    with pytest.raises(Invalid, match="retired meanwhile"):
        things.say_chances(said, {("lesser", "bill", "hooked"): SaidChance("always")})


def test_nothing_said_leaves_nothing_behind(said: FolderCatalogue) -> None:
    cleared = things.say_chances(said, {("third", "bill", "bent"): None})
    assert cleared.forms[2].traits == {}


@pytest.mark.parametrize(
    ("thirds", "why"),
    [
        ([FolderThird("lesser", "bill")], "one of the pair itself"),
        ([FolderThird("nobody", "bill")], "no form nobody"),
        ([FolderThird("third", "tail")], "no trait tail"),
    ],
)
def test_a_third_that_cannot_be_one_is_refused(said: FolderCatalogue, thirds: list[FolderThird], why: str) -> None:
    changed = things.change_pair(said, "lesser:greater", note="", neither=True, third_share=0.05, thirds=thirds)
    with pytest.raises(Invalid, match=why):
        refuse_faults(said, changed)


def test_a_third_named_twice_is_one(said: FolderCatalogue) -> None:
    twice = [FolderThird("third", "bill"), FolderThird("third", "bill")]
    changed = things.change_pair(said, "lesser:greater", note="x", neither=False, third_share=0, thirds=twice)
    assert changed.pairs[0].thirds == (FolderThird("third", "bill"),)


def test_at_the_end_a_thing_stays(said: FolderCatalogue) -> None:
    keys = [form.key for form in said.forms]
    assert [form.key for form in things.move(said, "forms", "greater", earlier=True).forms] == ["greater", "lesser", "third"]
    assert [form.key for form in things.move(said, "forms", "lesser", earlier=True).forms] == keys
    assert [form.key for form in things.move(said, "forms", "third", earlier=False).forms] == keys


def test_what_is_not_there_is_not_found(said: FolderCatalogue) -> None:
    for edit in (things.retire_form, things.retire_trait, things.retire_pair, things.retire_set):
        with pytest.raises(NotFound):
            edit(said, "nobody")
    with pytest.raises(NotFound):
        things.move(said, "forms", "nobody", earlier=True)


@pytest.mark.parametrize(
    ("field", "typed", "why"),
    [
        ("title", "  ", "Title is empty"),
        ("title", "x" * 201, "too long"),
        ("title", "a\nb", "several lines"),
        ("subject", "dragon", "not among the choices"),
        ("language", "english please", "no language tag"),
    ],
)
def test_a_field_that_cannot_be_read_is_named(field: str, typed: str, why: str) -> None:
    sound = {"title": "T", "subject": "bird", "language": "en", "list_name": "L"}
    with pytest.raises(Invalid, match=why) as refused:
        read_asked(HEAD, sound | {field: typed})
    assert refused.value.field == field


def test_a_colour_is_one_or_nothing() -> None:
    assert read_colour(" #8A7c6d ") == "#8A7c6d"
    with pytest.raises(Invalid, match="The colour beige is none"):
        read_colour("beige")


def test_names_in_other_languages_are_typed_a_line_each() -> None:
    assert read_called(" de | Wattpfeifer\n\npt-BR|Maçarico ") == (FolderCalled("de", "Wattpfeifer"), FolderCalled("pt-BR", "Maçarico"))
    assert [str(one) for one in read_called("de | Wattpfeifer")] == ["de | Wattpfeifer"]
    for typed in ("Wattpfeifer", "de |", "d e | Wattpfeifer", "de | a | b"):
        with pytest.raises(Invalid, match="names no language and name"):
            read_called(typed)
