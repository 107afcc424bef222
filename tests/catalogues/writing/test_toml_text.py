"""Our TOML is read by Python's own reader as what was written.

Source: tomllib of the standard library, which reads TOML 1.0.
"""

from __future__ import annotations

import json
import tomllib
from datetime import timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillhall.catalogues.writing.extras import from_json, to_json
from drillhall.catalogues.writing.toml_text import toml_text

ZONES = st.integers(-1439, 1439).map(lambda minutes: timezone(timedelta(minutes=minutes)))
TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
LEAF = st.one_of(
    TEXT,
    st.booleans(),
    st.integers(-(2**63), 2**63 - 1),
    st.floats(allow_nan=False),
    st.dates(),
    st.times().map(lambda said: said.replace(fold=0)),
    st.one_of(st.datetimes(), st.datetimes(timezones=ZONES)).map(lambda said: said.replace(fold=0)),
)
VALUES = st.recursive(
    LEAF, lambda inside: st.one_of(st.lists(inside, max_size=3), st.dictionaries(TEXT, inside, max_size=3)), max_leaves=12
)
TABLES = st.dictionaries(st.one_of(st.sampled_from(["a", "b", "toml:date", "toml:table"]), TEXT), VALUES, max_size=4)


@given(said=TABLES, inline=st.sampled_from([frozenset[str](), frozenset({"a"}), frozenset({"a.b", "b"})]))
def test_what_is_written_is_read_as_the_same(said: dict[str, Any], inline: frozenset[str]) -> None:
    assert tomllib.loads(toml_text(said, inline=inline)) == said


@given(said=TABLES)
def test_what_json_keeps_comes_back_as_the_same(said: dict[str, Any]) -> None:
    kept = json.loads(json.dumps(to_json(said), allow_nan=False))
    back = from_json(kept)
    assert back == said
    assert repr(back) == repr(said)  # 1 and 1.0 and True are equal, and not the same


def test_tables_are_laid_out_to_be_read() -> None:
    said = {"pairs": [{"forms": ["a", "b"], "thirds": [{"form": "c"}]}], "catalogue": {"key": "k"}, "day": "x"}
    text = toml_text(said, inline=frozenset({"pairs.thirds"}))
    assert text.splitlines() == [
        'day = "x"',
        "",
        "[[pairs]]",
        'forms = ["a", "b"]',
        "thirds = [",
        '  { form = "c" },',
        "]",
        "",
        "[catalogue]",
        'key = "k"',
    ]


def test_what_toml_cannot_say_is_refused() -> None:
    with pytest.raises(TypeError, match="NoneType"):
        toml_text({"a": None})
