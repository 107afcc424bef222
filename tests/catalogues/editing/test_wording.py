"""Fields of a catalogue that hold several things are told as one would write them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from drillhall.catalogues.editing.fields import differing, to_fields
from drillhall.catalogues.editing.wording import Differing, Wording
from drillhall.catalogues.folder import FolderCalled, FolderCatalogue, FolderMapping, FolderName
from drillhall.words import joined
from tests.catalogues import folders

NAMES = (FolderName("Old List", "Fictavis minor", "Oozer"), FolderName("Other", "F. parva"))


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> FolderCatalogue:
    return folders.read(folders.write(tmp_path_factory.mktemp("wording") / "mudflat"))


def the_one(old: FolderCatalogue, new: FolderCatalogue) -> Differing:
    """Return the one field that differs, in words."""
    (one,) = Wording(to_fields(old), to_fields(new)).differing(*differing(to_fields(old), to_fields(new)))
    return one


def of_form(**words: object) -> Callable[[FolderCatalogue], FolderCatalogue]:
    return lambda said: replace(said, forms=(replace(said.forms[0], **words), *said.forms[1:]))  # type: ignore[arg-type]


def of_stage(**words: object) -> Callable[[FolderCatalogue], FolderCatalogue]:
    def change(said: FolderCatalogue) -> FolderCatalogue:
        first, *rest = said.sets[0].stages
        return replace(said, sets=(replace(said.sets[0], stages=(replace(first, **words), *rest)),))  # type: ignore[arg-type]

    return change


@pytest.mark.parametrize(
    ("change", "english", "german"),
    [
        (of_form(also_named=NAMES), "Old List: Fictavis minor, Oozer; Other: F. parva", "Old List: Fictavis minor, Oozer; Other: F. parva"),
        (of_form(called=(FolderCalled("de", "Watter"),)), "de: Watter", "de: Watter"),
        (of_form(extra={"ringed": True, "on": ["mud", "sand"]}), "ringed: yes; on: mud, sand", "ringed: ja; on: mud, sand"),
        (of_form(also_named=()), "nothing", "nichts"),
    ],
)
def test_a_list(said: FolderCatalogue, change: Callable[[FolderCatalogue], FolderCatalogue], english: str, german: str) -> None:
    before = of_form(also_named=NAMES)(said) if english == "nothing" else said
    one = the_one(before, change(said))
    assert (one.new, joined("", [one.new]).told("de")) == (english, german)


def test_mappings_and_what_a_stage_holds(said: FolderCatalogue) -> None:
    mapped = replace(said, mappings=(FolderMapping("list/one", "includes", "list/two", "A paper"),))
    one = the_one(said, mapped)
    assert one.new == "list/one is wider than list/two (A paper)"
    held = of_stage(poses=("flying",), distances=("far",))(said)
    one = the_one(said, held)
    assert "(flying, from far alone)" in (one.new or "")


def test_no_field_is_told_as_the_program_keeps_it(said: FolderCatalogue) -> None:
    full = of_form(
        also_named=(FolderName("Old List", "F. minor"),), called=(FolderCalled("de", "Watter"),), extra={"a": {"b": [1, {"c": 2}]}}
    )
    fields = to_fields(replace(full(said), extra={"day": {"toml:date": "2031-03-03"}}, beside={"x": [True]}, sets_beside={"y": []}))
    told_of = [one.new or one.old or "" for one in Wording(fields).differing({}, fields)]
    assert told_of
    assert [words for words in told_of if any(sign in words for sign in "[]{}'\"")] == []
