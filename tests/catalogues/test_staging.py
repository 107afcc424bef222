"""Zips that wait: what another process lets go meanwhile stops nobody."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest

from drillhall.catalogues import staging
from drillhall.errors import NotFound

AT = datetime(2031, 9, 1, 8, tzinfo=UTC)
TOKEN = "a" * 32


def test_what_goes_between_listing_and_looking_stops_nobody(tmp_path: Path) -> None:
    (tmp_path / f"1-{'b' * 32}.zip").symlink_to(tmp_path / "gone")  # it is listed, and cannot be looked at
    path = staging.stage(tmp_path, BytesIO(b"zip"), account_id=1, token=TOKEN, at=AT)
    assert staging.the_staged(tmp_path, account_id=1, token=TOKEN, at=AT + staging.KEPT) == path
    with pytest.raises(NotFound):
        staging.the_staged(tmp_path, account_id=1, token="b" * 32, at=AT)
    staging.sweep(tmp_path, at=AT + staging.KEPT + timedelta(seconds=1))
    assert not path.exists()


def test_of_whoever_goes_all_go_and_nobody_elses(tmp_path: Path) -> None:
    theirs = [staging.stage(tmp_path, BytesIO(b"zip"), account_id=number, token=TOKEN, at=AT) for number in (1, 12, 2)]
    staging.drop_of(tmp_path, 2)
    assert [path.exists() for path in theirs] == [True, True, False]
    staging.drop_of(tmp_path, 1)
    assert [path.exists() for path in theirs] == [False, True, False]
    staging.drop_of(tmp_path / "never made", 1)
