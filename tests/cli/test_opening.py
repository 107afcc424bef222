"""Opening a hall for a command: what is said of a hall that is new, and of one whose database is brought up to date."""

from __future__ import annotations

from pathlib import Path

from drillhall.cli.opening import open_hall
from drillhall.store.migrating import make_schema
from tests.cli.halls import run

BEFORE_THE_LAST_TWO = "20261216_join_concepts"


def test_a_new_hall_is_told_in_one_line_and_each_change_of_an_older_one_in_its_own(tmp_path: Path) -> None:
    folder = tmp_path / "hall"
    made = run("rebuild", "--data", folder)
    assert (made.exit_code, made.stderr) == (0, f"A new hall is made; its data folder is {folder}.\n")
    assert run("rebuild", "--data", folder).stderr == ""
    with open_hall(folder) as (_, store):
        make_schema(store, BEFORE_THE_LAST_TWO)
    lines = run("rebuild", "--data", folder).stderr.splitlines()
    assert len(lines) >= 2
    assert lines[0] == "Database brought up to date: Measure traits: the unit of a trait, and a form's mean and spread in it."
    assert all(line.startswith("Database brought up to date: ") for line in lines)
