"""`drillhall backup` and `drillhall restore` as one types them."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from drillhall.people import accounts, hall
from tests.cli.halls import make_hall, opened, run


def test_a_hall_moves_to_another_folder(tmp_path: Path) -> None:
    data, file = make_hall(tmp_path), tmp_path / "kept.zip"
    told = run("backup", file, "--data", data)
    assert told.exit_code == 0
    assert "rows and" in told.stdout
    assert "keep it where nobody else reads it" in told.stdout
    there = run("restore", file, "--data", tmp_path / "other")
    assert there.exit_code == 0
    assert re.search(r"The hall of \d{4}-\d\d-\d\d \d\d:\d\d UTC is back", there.stdout)
    assert (tmp_path / "other").stat().st_mode & 0o777 == 0o700
    with opened(data) as before, opened(tmp_path / "other") as after:
        assert accounts.list_accounts(after) == accounts.list_accounts(before)
        assert hall.last_backup(after) == replace(hall.last_backup(before), is_restored=True)
    again = run("restore", file, "--data", tmp_path / "other")
    assert (again.exit_code, again.stderr.splitlines()[-1].split(":")[0]) == (5, "This hall is not empty")
    assert run("backup", file, "--data", data).exit_code == 5


def test_no_hall_and_no_backup_are_told_and_nothing_is_made(tmp_path: Path) -> None:
    none = run("backup", tmp_path / "kept.zip", "--data", tmp_path / "nowhere")
    assert none.exit_code == 3
    assert none.stderr.startswith("There is no hall in")
    (tmp_path / "words.zip").write_text("words")
    told = run("restore", tmp_path / "words.zip", "--data", tmp_path / "nowhere")
    assert told.exit_code == 2
    assert "damaged or was cut short" in told.stderr
    assert not (tmp_path / "nowhere").exists()
