"""What tests of changes share: the mudflat before its steward."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillhall.store.session import Store
from tests.catalogues import folders
from tests.catalogues.editing.desk import Desk, add_account, open_desk


@pytest.fixture
def desk(store: Store, tmp_path: Path) -> Desk:
    """The mudflat before its steward, once on each engine."""
    return open_desk(store, folders.read(folders.write(tmp_path / "mudflat")), add_account(store, "Ada"))
