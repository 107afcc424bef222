"""Light hashing for tests: Argon2id as in earnest, but cheap, since a test is not what it protects."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from argon2 import PasswordHasher

from drillhall.people import passphrases


def hash_lightly(patch: pytest.MonkeyPatch) -> None:
    """Hash lightly until the patch is undone; the real cost is checked in tests/people."""
    patch.setattr(passphrases, "HASHER", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    passphrases.hash_of_nobody.cache_clear()


@contextmanager
def light_hashing() -> Iterator[None]:
    """Hash lightly within, for what is built once for many tests."""
    with pytest.MonkeyPatch.context() as patch:
        hash_lightly(patch)
        yield
    passphrases.hash_of_nobody.cache_clear()


@pytest.fixture(autouse=True)
def quick_hashing(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let every passphrase of a test be hashed lightly."""
    hash_lightly(monkeypatch)
    yield
    passphrases.hash_of_nobody.cache_clear()
