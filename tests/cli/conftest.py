"""A hall for commands about pictures, made once and copied for each test."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.cli.halls import make_hall
from tests.hashing import light_hashing


@pytest.fixture(scope="session")
def made_hall(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data folder of a hall with people and a catalogue, to copy."""
    with light_hashing():
        return make_hall(tmp_path_factory.mktemp("made"))


@pytest.fixture
def data(made_hall: Path, tmp_path: Path) -> Path:
    """The data folder of a hall with people and a catalogue."""
    return Path(shutil.copytree(made_hall, tmp_path / "hall"))
