"""The bench itself: what it calls met, that a slow function is not, and that rows run singly by name. No figure is measured here."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterable
from pathlib import Path

import pytest

from tests.bench import photographs, pictures
from tests.bench.__main__ import choose, main
from tests.bench.memory import TOP, in_its_own_interpreter
from tests.bench.rows import Goal, Measured, Row, Size, at_least, at_least_times, at_most, at_most_times, interleaved, run
from tests.bench.subjects import SUBJECTS


def quick() -> None:
    time.sleep(0.001)


def slow() -> None:
    time.sleep(0.02)


@pytest.mark.parametrize(
    ("goal", "ours", "floor", "met"),
    [
        (at_most_times(2), 2.0, 1.0, True),
        (at_most_times(2), 2.01, 1.0, False),
        (at_most_times(2, plus=5), 6.9, 1.0, True),
        (at_most_times(2, plus=5), 7.1, 1.0, False),
        (at_most_times(2), 0.1, None, False),  # without a floor nothing is shown
        (at_least_times(0.8), 0.8, 1.0, True),
        (at_least_times(0.8), 0.79, 1.0, False),
        (at_least_times(0.8), 9.0, None, False),
        (at_most(50), 50.0, None, True),
        (at_most(50), 50.1, 100.0, False),
        (at_least(0.9), 0.9, None, True),
        (at_least(0.9), 0.8, None, False),
    ],
)
def test_a_goal_is_met_or_not(goal: Goal, ours: float, floor: float | None, met: bool) -> None:
    assert run(Row("one: row", "s", goal, lambda: Measured(ours, floor))).met is met


def test_a_planted_slow_function_is_not_met_and_a_quick_one_is() -> None:
    row = Row("planted: slow", "s", at_most_times(2), lambda: interleaved(quick, slow, repeats=3))
    assert not run(row).met
    assert run(row).ratio > 5  # type: ignore[operator]
    assert run(Row("planted: quick", "s", at_most_times(2), lambda: interleaved(slow, quick, repeats=3))).met


def test_both_are_run_in_turns_after_one_of_each() -> None:
    order: list[str] = []
    interleaved(lambda: order.append("f"), lambda: order.append("o"), repeats=4)
    assert "".join(order) == "fo" + "fo" + "of" + "fo" + "of"


def rows(_size: Size) -> Iterable[Row]:
    yield Row("plain: met", "ms", at_most(2), lambda: Measured(1.0, 4.0))
    yield Row("plain: missed", "ms", at_most(2), lambda: Measured(3.0))


def test_the_table_the_file_and_the_status(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--json", str(tmp_path / "rows.json")], subjects={"plain": rows}) == 1
    assert [line.split()[-2] for line in capsys.readouterr().out.splitlines()[:3]] == ["met", "yes", "NO"]
    assert json.loads((tmp_path / "rows.json").read_text(encoding="utf-8")) == [
        {"name": "plain: met", "floor": 4.0, "ours": 1.0, "ratio": 0.25, "goal": "≤ 2", "met": True, "seconds": 0.0},
        {"name": "plain: missed", "floor": None, "ours": 3.0, "ratio": None, "goal": "≤ 2", "met": False, "seconds": 0.0},
    ]
    assert main(["plain: met"], subjects={"plain": rows}) == 0


def test_the_interval_of_a_gain_or_of_ours_is_in_the_file() -> None:
    gained = run(Row("one: gain", "points", at_least(1), lambda: Measured(72.0, 71.0, gain=(1.0, 0.5, 1.5)))).as_json
    bound = run(Row("one: share", "%", at_most(1), lambda: Measured(0.5, interval=(0.1, 0.9)))).as_json
    assert (gained["gain"], gained["interval"]) == (1.0, [0.5, 1.5])
    assert bound["interval"] == [0.1, 0.9]
    assert "interval" not in run(Row("one: plain", "s", at_most(1), lambda: Measured(0.5))).as_json


def test_a_row_that_is_not_there_is_told() -> None:
    with pytest.raises(SystemExit, match="There is no row or subject plain: gone"):
        choose(["plain: gone"], list(rows(Size())), ["plain"])


def test_every_row_is_named_once_by_its_subject() -> None:
    named = [(subject, row.name) for subject, make in SUBJECTS.items() for row in make(Size())]
    assert len({name for _, name in named}) == len(named)
    assert all(name.startswith(f"{subject}: ") for subject, name in named)


def test_one_row_runs_with_little(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photographs, "folder", lambda: tmp_path)
    monkeypatch.setattr(photographs, "WIDTH_PX", 400)
    few = photographs.photographs(12, width_px=400, height_px=300)
    assert len({path.read_bytes() for path in few}) == 12
    monkeypatch.setattr(pictures.photographs, "photographs", lambda count: few[:count])
    result = run(Row("pictures: adding", "a CPU second", at_least_times(0.0), lambda: pictures.adding(3)))
    assert result.met
    assert result.ours > 0


HOLDING = """
from tests.bench.memory import Cost
with Cost() as cost:
    held = bytearray(60_000_000)
    held[::4096] = b"x" * len(held[::4096])
print(cost.more_bytes, cost.seconds)
"""


def test_what_memory_costs_is_seen() -> None:
    # In an interpreter of its own, as every row measures: what a long run of tests has held and let go would hide it.
    told = subprocess.run([sys.executable, "-c", HOLDING], cwd=TOP, capture_output=True, text=True, check=True).stdout.split()
    assert int(told[0]) > 30_000_000
    assert float(told[1]) > 0


def test_a_fault_in_its_own_interpreter_is_told() -> None:
    with pytest.raises(RuntimeError, match="ended with"):
        in_its_own_interpreter("tests.bench.pictures", "bare", "gone.jpg")
