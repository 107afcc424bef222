"""What tests of catalogues share: a steward, and a catalogue that she made page by page."""

from __future__ import annotations

import pytest

from tests.cast import LEADER
from tests.visits import Hall, Visitor
from tests.web.catalogue.writing import Written, write_gulls


@pytest.fixture
def steward(hall: Hall) -> Visitor:
    return hall.enter(LEADER)


@pytest.fixture
def gulls(steward: Visitor) -> Written:
    return write_gulls(steward)
