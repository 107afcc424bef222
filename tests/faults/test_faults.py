"""The drills of faults themselves: that they see a loss where there is one, run singly by name, and kill a real server without one."""

from __future__ import annotations

import json
import os
import shutil
import signal
import threading
from contextlib import nullcontext
from pathlib import Path
from random import Random
from types import SimpleNamespace

import pytest
from sqlalchemy import text

from tests import engines
from tests.faults import __main__ as command
from tests.faults import rows
from tests.faults.__main__ import ENDED, choose, main
from tests.faults.checking import losses
from tests.faults.drills import DRILLS
from tests.faults.halls import LEARNERS, Hall, Workplace, enrol
from tests.faults.keeping import synced_before_answered
from tests.faults.killing import kill_some
from tests.faults.loading import SENDER, Ledger
from tests.faults.outside import MOST_LINES
from tests.faults.proxying import blocks, put_in
from tests.faults.rows import Ground, Row, Told, run


@pytest.fixture(scope="module")
def killed(built_hall: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Hall, Told, Ledger]:
    """A hall whose server was killed under load."""
    folder = Path(shutil.copytree(built_hall, tmp_path_factory.mktemp("faults") / "hall"))
    hall, told = Hall(folder, f"sqlite:///{folder / 'hall.sqlite'}"), Told()
    enrol(hall, *LEARNERS)
    return hall, told, kill_some(hall, Random(5), told, kills=1, busy=30)


def test_a_kill_loses_nothing(killed: tuple[Hall, Told, Ledger]) -> None:
    _, told, _ = killed
    assert told.lost == []
    assert told.counts["kills"] == 1
    assert told.counts["answers"] > 0


OF_SENDER = f"(SELECT id FROM account WHERE name = '{SENDER.name}')"


@pytest.mark.parametrize(
    "harms",
    [
        {"UPDATE memory SET stability_days = stability_days * 1.0001": "memory is not what its answers give"},
        {
            "DELETE FROM answer WHERE id = (SELECT min(id) FROM answer)": "was acknowledged and is gone",
            "UPDATE file SET storage_key = storage_key || 'x'": "has no file",
            f"UPDATE picture SET content_sha256 = 'x' WHERE owner_id = {OF_SENDER}": "was never sent",
        },
    ],
)
def test_each_loss_is_seen(killed: tuple[Hall, Told, Ledger], tmp_path: Path, harms: dict[str, str]) -> None:
    hall, _, ledger = killed
    harmed = Hall(Path(shutil.copytree(hall.folder, tmp_path / "harmed")), f"sqlite:///{tmp_path / 'harmed' / 'hall.sqlite'}")
    with harmed.store() as store, store.work() as db:
        assert all(db.execute(text(harm)).rowcount > 0 for harm in harms)
    found = losses(harmed, ledger)
    assert [words for words in harms.values() if not any(words in one for one in found)] == []


ASKS = '1 recvfrom(9<socket:[7]>, "POST /drills/answers HTTP/1.1", 8192, 0, NULL, NULL) = 30'
WRITES = '2 pwrite64(5</hall/hall.sqlite-wal>, "", 4096, 32) = 4096'
SYNCS = "2 fdatasync(5</hall/hall.sqlite-wal>) = 0"
GRANTS = '1 sendto(9<socket:[7]>, "HTTP/1.1 200 OK", 15, 0, NULL, 0) = 15'
REFUSES = '1 sendto(9<socket:[7]>, "HTTP/1.1 503 Service Unavailable", 15, 0, NULL, 0) = 15'


@pytest.mark.parametrize(
    ("lines", "answered", "faults"),
    [
        ([ASKS, WRITES, SYNCS, GRANTS], 1, 0),
        ([ASKS, WRITES, GRANTS, SYNCS], 1, 1),
        ([ASKS, SYNCS, WRITES, GRANTS], 1, 1),
        ([ASKS, GRANTS], 1, 1),
        ([ASKS, WRITES, REFUSES], 0, 0),
        ([WRITES, SYNCS, GRANTS], 0, 0),
    ],
)
def test_an_answer_before_its_log_is_synced_is_seen(lines: list[str], answered: int, faults: int) -> None:
    seen, found = synced_before_answered(lines, "/drills/answers")
    assert (seen, len(found)) == (answered, faults)


def test_rows_are_chosen_by_name_and_by_subject() -> None:
    every = [row for some in DRILLS for row in some()]
    assert len({row.name for row in every}) == len(every)
    assert [row.name for row in choose(["twice", "kill:sqlite"], every)] == ["kill:sqlite", "twice:sqlite", "twice:postgresql"]
    with pytest.raises(SystemExit, match="no row or subject nothing"):
        choose(["nothing"], every)


def test_the_readme_shows_the_proxy_in_ten_lines_and_two_processes_in_one() -> None:
    site, several = blocks()
    assert (len(site.splitlines()) <= MOST_LINES, len(several.splitlines())) == (True, 1)
    assert "listen 8443 ssl;" in put_in(site, {"listen 443 ssl;": "listen 8443 ssl;"})
    with pytest.raises(ValueError, match="'listen 444;' 0 times"):
        put_in(site, {"listen 444;": ""})


def test_a_row_that_breaks_off_counts_as_a_loss() -> None:
    def breaks(_ground: Ground, told: Told) -> None:
        told.count("kills", 3)
        raise ZeroDivisionError

    result = run(Row("planted", "breaks", breaks), Ground(Workplace(Path(), {}), None, 1))  # type: ignore[arg-type]  # no server is asked
    assert result.counts == {"kills": 3}
    assert "ZeroDivisionError" in result.lost[0]


def test_a_run_that_is_told_to_end_keeps_what_was_counted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def ends(_ground: Ground, told: Told) -> None:
        told.count("requests", 3)
        os.kill(os.getpid(), signal.SIGTERM)

    monkeypatch.setattr(engines, "a_server", lambda: nullcontext(SimpleNamespace(start=lambda _: None, is_up=True, dsn="")))
    monkeypatch.setattr(command, "DRILLS", [lambda: [Row("planted", "ends", ends), Row("never", "is not come to", ends)]])
    monkeypatch.setattr(shutil, "which", str)
    before = signal.getsignal(signal.SIGTERM)
    try:
        assert main(["--json", str(tmp_path / "told.json")]) == ENDED
    finally:
        signal.signal(signal.SIGTERM, before)
    (row,) = json.loads((tmp_path / "told.json").read_text())
    assert (row["name"], row["counts"], row["lost"]) == ("planted", {"requests": 3}, ["the row was told to end, after requests 3"])


def test_a_row_that_hangs_is_ended_and_says_meanwhile_how_far_it_is(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def hangs(_ground: Ground, told: Told) -> None:
        told.count("kills", 3)
        threading.Event().wait()

    monkeypatch.setattr(rows, "LONGEST_SECONDS", 0.2)
    monkeypatch.setattr(rows, "SAYS_EVERY", 0.05)
    result = run(Row("planted", "hangs", hangs), Ground(Workplace(Path(), {}), None, 1))  # type: ignore[arg-type]  # no server is asked
    assert "did not end in 0.2 seconds" in result.lost[0]
    assert "planted for 0 s: kills 3; lost 0" in capsys.readouterr().err
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


def test_the_rows_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--list", "kill"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == ["kill:sqlite", "kill:postgresql"]
