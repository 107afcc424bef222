"""`drillhall secret`: out of the database into a file, and another in its place."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NoReturn
from zipfile import ZipFile

import pytest
from click.testing import Result

from drillhall.acts.settle_secret import settle_secret
from drillhall.cli import secret as commands
from drillhall.errors import Unavailable
from drillhall.people import audit
from drillhall.store.session import Store
from tests.cli.halls import run

HOLDER = "DRILLHALL_SECRET_FILE"


def secret_of(data: Path) -> str:
    store = Store(f"sqlite:///{data / 'hall.sqlite'}")
    made = settle_secret(store)
    store.close()
    return made


def on(data: Path, *words: str | Path, held: Path | None = None) -> Result:
    return run(*words, "--data", data, env={HOLDER: str(held) if held else None})


def bytes_of(data: Path) -> bytes:
    return b"".join(path.read_bytes() for path in data.iterdir() if path.is_file())


def test_it_moves_into_a_file_without_which_the_hall_does_not_open(data: Path, tmp_path: Path) -> None:
    made, file = secret_of(data), tmp_path / "secret"
    assert made.encode() in bytes_of(data)
    moved = on(data, "secret", "move", file)
    assert moved.exit_code == 0, moved.output
    assert made not in moved.output
    assert file.read_text() == f"{made}\n"
    assert file.stat().st_mode & 0o777 == 0o600
    assert made.encode() not in bytes_of(data), "nor in what SQLite keeps beside it"
    refused = on(data, "work", "--once")
    assert (refused.exit_code, "lies in a file" in refused.stderr) == (2, True)
    assert on(data, "work", "--once", held=file).exit_code == 0
    assert on(data, "secret", "move", tmp_path / "again", held=file).exit_code == 5
    assert not (tmp_path / "again").exists()


def test_a_backup_taken_afterwards_does_not_hold_it(data: Path, tmp_path: Path) -> None:
    made, file = secret_of(data), tmp_path / "secret"
    assert "the hall's secret" in on(data, "backup", tmp_path / "before.zip").stdout
    on(data, "secret", "move", file)
    for held, name in ((None, "unnamed.zip"), (file, "after.zip")):
        assert "It holds what people have said:" in on(data, "backup", tmp_path / name, held=held).stdout
    assert made in told_in(tmp_path / "before.zip")
    assert made not in told_in(tmp_path / "after.zip")


def told_in(backup: Path) -> str:
    with ZipFile(backup) as archive:
        return "".join(archive.read(name).decode("utf-8", "replace") for name in archive.namelist() if "setting" in name)


def test_a_file_that_is_there_is_left_alone_and_so_is_the_secret(data: Path, tmp_path: Path) -> None:
    made, file = secret_of(data), tmp_path / "secret"
    file.write_text("a shopping list")
    refused = on(data, "secret", "move", file)
    assert (refused.exit_code, file.read_text()) == (5, "a shopping list")
    away = on(data, "secret", "move", tmp_path / "nowhere" / "secret")
    assert (away.exit_code, "where it was" in away.stderr) == (6, True)
    assert secret_of(data) == made


def test_a_disk_that_is_full_leaves_no_half_file_and_a_lost_commit_the_whole(
    data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made, file = secret_of(data), tmp_path / "secret"
    with monkeypatch.context() as full:
        full.setattr(commands, "sync_folder", fails(OSError(28, "No space left on device")))
        assert on(data, "secret", "move", file).exit_code == 6
    assert not file.exists()
    with monkeypatch.context() as lost:
        lost.setattr(commands.hall_secret, "keep_apart", fails(Unavailable("The database is away.")))
        broken_off = on(data, "secret", "move", file)
    assert (broken_off.exit_code, "that does the rest" in broken_off.stderr) == (6, True)
    assert file.read_text() == f"{made}\n"
    assert on(data, "work", "--once", held=file).exit_code == 0
    assert made.encode() not in bytes_of(data)


def fails(error: Exception) -> Callable[..., NoReturn]:
    def fail(*_: object) -> NoReturn:
        raise error

    return fail


def test_another_one_takes_its_place_when_one_says_so(data: Path, tmp_path: Path) -> None:
    made, file = secret_of(data), tmp_path / "secret"
    assert run("secret", "renew", "--data", data, input="n\n").exit_code == 1
    assert secret_of(data) == made
    assert on(data, "secret", "renew", "--yes").exit_code == 0
    assert secret_of(data) != made
    file.write_text("x0y1z2" * 10)
    file.chmod(0o600)
    assert "holds another one" in on(data, "work", "--once", held=file).stderr
    assert on(data, "secret", "renew", "--yes", held=file).exit_code == 0
    assert on(data, "work", "--once", held=file).exit_code == 0
    store = Store(f"sqlite:///{data / 'hall.sqlite'}")
    with store.look() as db:
        assert [one.act for one in audit.list_noted(db)][:2] == ["secret renewed", "secret renewed"]
    store.close()
