"""What tests of this room share: a server that speaks S3, started once, and an empty bucket in it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.pictures.s3 import Buckets, Place  # it brings the server along, which tests of files need not wait for


@pytest.fixture(scope="session")
def server() -> Iterator[Buckets]:
    """A server that speaks S3."""
    from tests.pictures.s3 import buckets

    with buckets() as server:
        yield server


@pytest.fixture
def place(server: Buckets) -> Iterator[Place]:
    """An empty bucket; nobody gets at it without its key."""
    with server.opened() as place:
        yield place
