"""A form may say how long it really is; a length that no organism has is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.catalogues import folders
from tests.catalogues.folders import CATALOGUE

LESSER = 'key = "lesser"\n'


@pytest.mark.parametrize("length", ["1", "190", "33000"])
def test_a_real_length_is_taken(tmp_path: Path, length: str) -> None:
    text = CATALOGUE.replace(LESSER, f"{LESSER}length_mm = {length}\n", 1)
    assert folders.report(folders.write(tmp_path, catalogue=text)).faults == ()


@pytest.mark.parametrize(
    ("length", "told"),
    [("0", "length_mm is 0."), ("-5", "length_mm is -5."), ("1e9", "must be a"), ('"190"', "must be a"), ("true", "must be")],
)
def test_what_is_no_length_is_told(tmp_path: Path, length: str, told: str) -> None:
    text = CATALOGUE.replace(LESSER, f"{LESSER}length_mm = {length}\n", 1)
    assert any(told in line for line in folders.report(folders.write(tmp_path, catalogue=text)).lines)
