"""What a catalogue says, laid out as fields and put together again."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings

from drillhall.catalogues.editing.fields import differing, from_fields, is_order, read_chance, to_fields, version_of, within
from drillhall.catalogues.folder import FolderCatalogue, SaidChance
from tests.catalogues.invented import catalogues


@settings(max_examples=60, deadline=None)
@given(said=catalogues(files=("a.jpg",)))
def test_what_is_laid_out_comes_together_again(said: FolderCatalogue) -> None:
    fields = json.loads(json.dumps(to_fields(said)))  # as the history keeps it
    assert from_fields(fields, said) == said
    blank = FolderCatalogue(said.key, "", "", "")
    assert from_fields(fields, blank) == said.without_pictures()


@settings(max_examples=30, deadline=None)
@given(one=catalogues(files=()), other=catalogues(files=()))
def test_the_fields_that_differ_make_one_of_the_other(one: FolderCatalogue, other: FolderCatalogue) -> None:
    old, new = to_fields(one), to_fields(other)
    before, after = differing(old, new)
    made = {path: value for path, value in old.items() if path not in before} | after
    assert made == new
    assert {path: value for path, value in new.items() if path not in after} | before == old


def test_two_that_say_the_same_do_not_differ() -> None:
    said = to_fields(FolderCatalogue("a", "A", "bird", "List"))
    assert differing(said, dict(said)) == ({}, {})


def test_a_version_is_of_its_scope_alone() -> None:
    said = FolderCatalogue("a", "A", "bird", "List")
    other = replace(said, title="B")
    assert version_of(to_fields(said), ("title",)) != version_of(to_fields(other), ("title",))
    assert version_of(to_fields(said), ("note", "forms")) == version_of(to_fields(other), ("note", "forms"))


def test_a_scope_is_no_beginning_of_a_name() -> None:
    fields = {"forms/dun/note": "a", "forms/dunlin/note": "b", "forms": ["dun", "dunlin"]}
    assert within(fields, ("forms/dun",)) == {"forms/dun/note": "a"}


def test_an_order_is_told_from_what_bears_its_name() -> None:
    assert is_order("forms")
    assert is_order("traits/bill/states")
    assert not is_order("traits/bill/states/states/label")
    assert not is_order("forms/states/traits")


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("18 of 20", SaidChance(shown=18, of=20)),
        ("18/20", SaidChance(shown=18, of=20)),
        (" USUALLY ", SaidChance("usually")),
        ("18 out of 20", SaidChance("18 out of 20")),
        ("١ of ٢", SaidChance("١ of ٢")),
    ],
)
def test_a_word_or_a_count_is_read(typed: str, read: SaidChance) -> None:
    assert read_chance(typed) == read
