"""Forwarded headers are believed from the one proxy that is named, and from nobody else."""

from __future__ import annotations

from pathlib import Path

import pytest
from flask import request

from drillhall.store.session import Store
from drillhall.web.who_may import ACTION_OF
from tests.visits import Hall, open_hall

FORWARDED = {"X-Forwarded-For": "203.0.113.9", "X-Forwarded-Proto": "https", "X-Forwarded-Host": "hall.example"}


def _seen(hall: Hall, address: str, headers: dict[str, str]) -> tuple[str | None, str, str]:
    """Return what the hall takes for the visitor's address, the scheme and the host."""
    assert ACTION_OF["account.csrf"] == "enter"
    seen: list[tuple[str | None, str, str]] = []
    hall.app.view_functions["account.csrf"] = lambda: seen.append((request.remote_addr, request.scheme, request.host)) or "seen"
    hall.app.test_client().get("/csrf", headers=headers, environ_overrides={"REMOTE_ADDR": address})
    return seen[0]


@pytest.fixture
def far_hall(sqlite_store: Store, tmp_path: Path) -> Hall:
    return open_hall(sqlite_store, tmp_path, public_url="https://hall.example", trusted_proxy="192.0.2.1")


def test_the_named_proxy_is_believed(far_hall: Hall) -> None:
    assert _seen(far_hall, "192.0.2.1", FORWARDED) == ("203.0.113.9", "https", "hall.example")


def test_another_machine_is_not(far_hall: Hall) -> None:
    assert _seen(far_hall, "192.0.2.2", FORWARDED) == ("192.0.2.2", "http", "localhost")


def test_without_a_named_proxy_nobody_is(hall: Hall) -> None:
    assert _seen(hall, "127.0.0.1", FORWARDED) == ("127.0.0.1", "http", "localhost")


def test_only_the_last_hop_counts(far_hall: Hall) -> None:
    address, _, _ = _seen(far_hall, "192.0.2.1", FORWARDED | {"X-Forwarded-For": "198.51.100.1, 203.0.113.9"})
    assert address == "203.0.113.9"


def test_a_forwarded_host_is_checked_like_any_other(far_hall: Hall) -> None:
    answer = far_hall.app.test_client().get(
        "/sign-in", headers=FORWARDED | {"X-Forwarded-Host": "evil.example"}, environ_overrides={"REMOTE_ADDR": "192.0.2.1"}
    )
    assert answer.status_code == 400
