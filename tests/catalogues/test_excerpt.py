"""One pair set as a catalogue of its own: all that it needs, nothing beside it, and without a fault."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drillhall.catalogues.editing.changing import list_faults
from drillhall.catalogues.excerpt import excerpt, key_of
from drillhall.catalogues.folder import (
    FolderCatalogue,
    FolderForm,
    FolderPair,
    FolderPicture,
    FolderSet,
    FolderStage,
    FolderState,
    FolderThird,
    FolderTrait,
    SaidChance,
)
from drillhall.core.values import Mark
from drillhall.errors import NotFound

STATES = (FolderState("a", "a"), FolderState("b", "b"))


def trait(key: str) -> FolderTrait:
    return FolderTrait(key, key, "bill", "structure", STATES)


def form(key: str, *traits: str) -> FolderForm:
    return FolderForm(key, f"Avis {key}", key, f"x:{key}", traits={one: {"a": SaidChance("always")} for one in traits})


SET = FolderSet("first_set", "First", (FolderStage("Easy", (("one", "two"),), ("flying",)),), note="Begin here.")
WHOLE = FolderCatalogue(
    "mud",
    "Mud",
    "bird",
    "List",
    traits=(trait("bill"), trait("legs"), trait("tail")),
    forms=(form("one", "bill"), form("two"), form("third"), form("four", "tail")),
    pairs=(FolderPair(("one", "two"), thirds=(FolderThird("third", "legs"),)), FolderPair(("two", "four"))),
    sets=(SET, FolderSet("other", "Other", (FolderStage("All", (("two", "four"),)),))),
    pictures=(
        FolderPicture("1.webp", "one", marks=(Mark("bill", 0.1, 0.1, 0.2, 0.2), Mark("tail", 0.1, 0.1, 0.2, 0.2))),
        FolderPicture("2.webp", "two", use="portrait"),
        FolderPicture("3.webp", "third"),
        FolderPicture("4.webp", "four"),
        FolderPicture("5.webp", "one", use="held-out"),
    ),
)


def test_it_holds_what_the_set_needs_and_nothing_beside() -> None:
    found = excerpt(WHOLE, "first_set")
    assert (found.key, found.title, found.note) == ("mud-first-set", "First", "Begin here.")
    assert [one.key for one in found.forms] == ["one", "two", "third"]
    assert [one.key for one in found.traits] == ["bill", "legs"]
    assert [one.key for one in found.pairs] == ["one:two"]
    assert found.sets == (SET,)
    assert [one.file for one in found.pictures] == ["1.webp", "2.webp", "3.webp"], "those held out stay"
    assert [mark.trait for mark in found.pictures[0].marks] == ["bill"]


@pytest.mark.parametrize("key", ["first_set", "other"])
def test_it_is_without_fault_where_the_whole_is(key: str) -> None:
    assert [fault.line for fault in list_faults(WHOLE)] == []
    assert [fault.line for fault in list_faults(excerpt(WHOLE, key))] == []


def test_a_long_key_is_cut_and_still_one() -> None:
    named = replace(SET, key="a" * 79)
    assert key_of(replace(WHOLE, key="b"), named) == "b-" + "a" * 78
    assert not key_of(replace(WHOLE, key="b" * 79), SET).endswith("-")


def test_a_set_that_is_not_there_is_refused() -> None:
    with pytest.raises(NotFound):
        excerpt(WHOLE, "no-such")
