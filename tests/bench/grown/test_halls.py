"""Halls that are kept open are let go in an order in which each still has what it needs."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from unittest.mock import Mock

import pytest

from tests import engines
from tests.bench.grown import halls


def test_a_hall_is_let_go_while_its_server_still_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[str] = []

    @contextmanager
    def a_server() -> Iterator[engines.Server]:
        told.append("server")
        yield Mock(dsn="sqlite://")
        told.append("no server")

    @contextmanager
    def a_hall(_: str, __: halls.Sort) -> Iterator[str]:
        ask("SELECT 1")
        yield "a hall"
        ask("SELECT 1")
        told.append("no hall")

    ask = vars(halls)["_ask_server"]
    monkeypatch.setattr(engines, "a_server", a_server)
    monkeypatch.setattr(halls, "a_hall", a_hall)
    with halls.closing_halls():
        assert halls.to_read("postgresql", halls.Sort()) == "a hall"
    assert told == ["server", "no hall", "no server"]
