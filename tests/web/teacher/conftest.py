"""A class to each test, copied from a hall that is built once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.web.teacher.a_class import Class, open_class


@pytest.fixture
def room(built_hall: Path, tmp_path: Path) -> Iterator[Class]:
    """A hall with a class in it."""
    with open_class(built_hall, tmp_path / "hall") as found:
        yield found
