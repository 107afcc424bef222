"""Measures row after row: says what is at work, goes on after a row that fails, writes down what it has, and leaves nothing behind."""

from __future__ import annotations

import json
import os
import signal
import tempfile
import time
import traceback
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Final, NoReturn

from tests.bench.rows import Result, Row, run

MET, MISSED, FAILED, STOPPED = 0, 1, 3, 128
"""Exit statuses; a run that a signal stopped ends with STOPPED and the signal's number."""

WIDTH: Final = 100


class Stopped(BaseException):
    """A signal came: all that is open is closed, and what was measured is told."""

    def __init__(self, number: int) -> None:
        super().__init__(signal.Signals(number).name)
        self.status = STOPPED + number


def measure_all(rows: Sequence[Row], kept: Path | None = None) -> int:
    """Measure rows in turn, print each as it comes, write them to a file after each; return the exit status.

    A row that raises is told as failed, with its trace at the end, and is not met.
    """
    results: list[Result] = []
    faults: list[str] = []
    began = time.monotonic()
    print(_line("row", "floor", "ours", "ratio", "goal", "met  seconds"))
    try:
        for row in rows:
            print(f"{f'{row.name} ({row.unit})':<{WIDTH}}", end="", flush=True)
            results.append(_measured(row, faults))
            print(_told(results[-1]), flush=True)
            _write(results, kept)
    except Stopped as stopped:
        print(f"\nStopped by {stopped} after {len(results)} of {len(rows)} rows.", flush=True)
        return stopped.status
    failed = [result.name for result in results if result.failed]
    met = sum(result.met for result in results)
    counts = f"{met} met, {len(results) - met - len(failed)} not, {len(failed)} failed"
    print(f"{len(results)} rows in {time.monotonic() - began:.0f} s: {counts}.")
    print("".join(f"\nFailed: {trace}" for trace in faults), end="", flush=True)
    return FAILED if failed else MET if met == len(results) else MISSED


def _measured(row: Row, faults: list[str]) -> Result:
    began = time.monotonic()
    try:
        return run(row)
    except Exception as error:  # a row that fails takes no other along: its trace is printed at the end, and the status tells
        if (stopped := _stopped_before(error)) is not None:
            raise stopped from error
        faults.append(f"{row.name}\n{traceback.format_exc()}")
        told = f"{type(error).__name__}: {error}".splitlines()[0]
        return Result(row.name, row.unit, None, None, row.goal.words, met=False, failed=told, seconds=time.monotonic() - began)


def _stopped_before(error: BaseException) -> Stopped | None:
    """Return the signal's exception in the wake of which an error came, where one did: closing what was cut off may fail."""
    before: BaseException | None = error
    while before is not None and not isinstance(before, Stopped):
        before = before.__context__
    return before


def _write(results: Sequence[Result], kept: Path | None) -> None:
    if kept is not None:
        beside = kept.with_name(f"{kept.name}.unfinished")
        beside.write_text(json.dumps([result.as_json for result in results], indent=2) + "\n", encoding="utf-8")
        beside.replace(kept)


@contextmanager
def in_a_folder_of_its_own() -> Iterator[Path]:
    """Let all temporary files of this process and of those that it starts lie in one folder, which is gone afterwards.

    Whoever has no rights may pass through it: so does PostgreSQL, which refuses to be root.
    """
    before, told = tempfile.tempdir, os.environ.get("TMPDIR")
    with tempfile.TemporaryDirectory(prefix="drillhall-bench-run-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        folder.chmod(0o711)
        tempfile.tempdir = os.environ["TMPDIR"] = name
        try:
            yield folder
        finally:
            tempfile.tempdir = before
            del os.environ["TMPDIR"]
            if told is not None:
                os.environ["TMPDIR"] = told


@contextmanager
def stopped_by_signals() -> Iterator[None]:
    """Raise Stopped at the first SIGINT or SIGTERM, and pass over further ones, so that closing is not cut short."""
    signals = (signal.SIGINT, signal.SIGTERM)

    def stop(number: int, _frame: object) -> NoReturn:
        for one in signals:
            signal.signal(one, signal.SIG_IGN)
        raise Stopped(number)

    before = [signal.signal(one, stop) for one in signals]
    try:
        yield
    finally:
        for one, handler in zip(signals, before, strict=True):
            signal.signal(one, handler)


def _told(result: Result) -> str:
    if result.ours is None:
        return f"{'FAILED':>20}{'':>8}  {result.goal:<20}NO {result.seconds:8.1f}   {result.failed}"
    floor = "" if result.floor is None else f"{result.floor:,.4g}"
    ratio = "" if result.ratio is None else f"{result.ratio:.2f}"
    gain = "" if result.gain is None else f"   {result.gain[0]:+.2f} ({result.gain[1]:+.2f} to {result.gain[2]:+.2f})"
    if result.interval is not None:
        gain = f"   ({result.interval[0]:,.3g} to {result.interval[1]:,.3g})"
    met = f"{'yes' if result.met else 'NO':<3}{result.seconds:8.1f}"
    return _line("", floor, f"{result.ours:,.4g}", ratio, result.goal, met, width=0) + gain


def _line(name: str, floor: str, ours: str, ratio: str, goal: str, met: str, *, width: int = WIDTH) -> str:
    return f"{name:<{width}}{floor:>10}{ours:>10}{ratio:>8}  {goal:<20}{met}"
