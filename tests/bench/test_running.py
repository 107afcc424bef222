"""A run of the bench: one row that fails, or a signal, costs neither the other rows nor the file, and nothing is left behind."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from tests.bench.__main__ import main
from tests.bench.memory import TOP
from tests.bench.rows import Measured, Row, Size, at_most

GOAL = at_most(2)


def _rows(measure: Callable[[], Measured]) -> Callable[[Size], Iterable[Row]]:
    """Return a row that is measured so, between two that are met."""
    between = [Row("plain: odd", "ms", GOAL, measure)]
    return lambda _: [Row("plain: one", "ms", GOAL, _fine), *between, Row("plain: two", "ms", GOAL, _fine)]


def _fine() -> Measured:
    return Measured(1.0)


def _fails() -> Measured:
    raise ZeroDivisionError("nothing to divide")


def test_a_row_that_fails_is_named_and_the_others_are_measured(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--json", str(tmp_path / "rows.json")], subjects={"plain": _rows(_fails)}) == 3
    told = {row["name"]: row for row in json.loads((tmp_path / "rows.json").read_text(encoding="utf-8"))}
    assert [row["met"] for row in told.values()] == [True, False, True]
    assert told["plain: odd"]["failed"] == "ZeroDivisionError: nothing to divide"
    assert told["plain: odd"]["ours"] is None
    said = capsys.readouterr().out
    assert "2 met, 0 not, 1 failed" in said
    assert "Failed: plain: odd\nTraceback" in said


def test_a_goal_missed_is_not_a_row_failed() -> None:
    assert main([], subjects={"plain": _rows(lambda: Measured(3.0))}) == 1


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_the_run_with_what_it_has(number: signal.Signals, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def stop() -> Measured:
        os.kill(os.getpid(), number)
        raise AssertionError("the signal did not come through")

    before = signal.getsignal(number), tempfile.gettempdir()
    assert main(["--json", str(tmp_path / "rows.json")], subjects={"plain": _rows(stop)}) == 128 + number
    assert (signal.getsignal(number), tempfile.gettempdir()) == before
    assert [row["name"] for row in json.loads((tmp_path / "rows.json").read_text(encoding="utf-8"))] == ["plain: one"]
    assert f"Stopped by {number.name} after 1 of 3 rows" in capsys.readouterr().out


def test_what_fails_while_a_stopped_row_is_closed_does_not_let_the_run_go_on(capsys: pytest.CaptureFixture[str]) -> None:
    def stop() -> Measured:
        try:
            os.kill(os.getpid(), signal.SIGTERM)
            raise AssertionError("the signal did not come through")
        finally:
            _fails()

    assert main([], subjects={"plain": _rows(stop)}) == 128 + signal.SIGTERM
    assert "Stopped by SIGTERM after 1 of 3 rows" in capsys.readouterr().out


def test_what_rows_leave_in_temporary_folders_is_gone_afterwards() -> None:
    left: list[Path] = []

    def leave() -> Measured:
        made = "import tempfile; print(tempfile.mkdtemp())"
        left.append(Path(subprocess.run([sys.executable, "-c", made], check=True, cwd=TOP, capture_output=True, text=True).stdout.strip()))
        left.append(Path(tempfile.mkdtemp()))
        assert all(folder.is_dir() for folder in left)
        return Measured(1.0)

    assert main([], subjects={"plain": _rows(leave)}) == 0
    assert len({folder.parent for folder in left}) == 1
    assert not any(folder.exists() for folder in (*left, left[0].parent))
