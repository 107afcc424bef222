"""Fills the disk under a hall, and makes its folder read-only: what is asked then is refused in a sentence, nothing is half there, and
all goes on when there is room again. The disk is a tmpfs of a few MB in a mount namespace of the row's own.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from tests import engines
from tests.faults.checking import losses, rebuilt, swept
from tests.faults.databases import BACK_SECONDS
from tests.faults.halls import Hall, Workplace, free_port, serving
from tests.faults.loading import Ledger, Load
from tests.faults.rows import Ground, Row, Told
from tests.faults.tides import tide_key, tide_zip

MEGABYTES: Final = 40
OF_POSTGRESQL: Final = 240
"""MB of the disk that a whole PostgreSQL lies on, its log with it."""
SMALL_LOG: Final = f"{engines.LASTING} -c min_wal_size=32MB -c max_wal_size=64MB"
MOST_STEPS: Final = 60
"""How often each asks at most until the disk is felt: what a table has still free takes a while."""
AWAY: Final = "busy or away"
OF_THE_DISK: Final = ("disk", "No space")


def rows() -> list[Row]:
    """Return the rows."""
    return [
        Row("full:serving", "the disk full during answers, an upload and an import, on SQLite", _serving, mounts=True),
        Row("full:postgresql", "the disk of a PostgreSQL full while people drill", _on_postgresql, mounts=True),
        Row("full:commands", "the disk full at start, during backup, restore and rebuild, on SQLite", _commands, mounts=True),
        Row("readonly:sqlite", "a data folder that may not be written", _read_only, mounts=True),
    ]


@contextmanager
def _disk(ground: Ground, place: Path | None = None, *, megabytes: int = MEGABYTES) -> Iterator[Path]:
    place = place or ground.place.folder / f"disk-{os.getpid()}"
    place.mkdir(exist_ok=True)
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "none", place], check=True)
    try:
        yield place
    finally:
        subprocess.run(["umount", "--lazy", place], check=True)


@contextmanager
def _full(disk: Path, *, left: int = 0) -> Iterator[None]:
    """Leave no room on a disk within, but `left` pages of 4096 bytes."""
    ballast, block = disk / "ballast", bytes(4096)
    with ballast.open("wb", buffering=0) as file:
        with suppress(OSError):
            while True:
                file.write(block)
        file.truncate(max(0, ballast.stat().st_size - left * 4096))
    try:
        yield
    finally:
        ballast.unlink()


def _serving(ground: Ground, told: Told) -> None:
    dice = ground.dice("full")
    with _disk(ground) as disk:
        hall = ground.place.hall("sqlite", within=disk)
        hall.told_in = ground.place.folder
        with serving(hall) as (server,):
            load = Load([server.port], f"full {dice.random()}")
            load.sign_in()
            for number in range(ground.of(5, 40)):
                with load.at_work():
                    load.wait_for(8)
                with _full(disk, left=dice.choice((0, 0, 1, 2, 5, 20))):
                    for actor in load.actors * 3:
                        load.quietly(actor.step)
                told.wants(server.is_up, "the server ended")
                told.count("times full")
                load.settle()
                told.lost += [f"after time {number + 1}: {one}" for one in losses(hall, load.ledger)]
        told.wants(load.ledger.is_settled, "not all that was sent was acknowledged in the end")
        unclear = {words for words in load.ledger.refusals if not any(sign in words for sign in OF_THE_DISK)}
        told.wants(not unclear, f"a refusal does not tell that the disk is full: {sorted(unclear)[:3]}")
        told.wants("Traceback" not in server.told, f"the server prints its insides: {server.told[-1500:]}")
        told.count("answers", len(load.ledger.known))
        told.count("refused with 503", load.ledger.counts["status 503"])
        left, over = swept(hall)
        told.count("files left by breaks, swept", left)
        told.lost += [*load.ledger.strange, *over, *rebuilt(hall)]


def _on_postgresql(ground: Ground, told: Told) -> None:
    dice = ground.dice("full postgresql")
    with _a_home() as home, _disk(ground, home / "data", megabytes=OF_POSTGRESQL) as disk, engines.a_server(home) as server:
        server.start(SMALL_LOG)
        hall = Workplace(ground.place.folder, {"postgresql": server.dsn}).hall("postgresql")
        with serving(hall, processes=2) as servers:
            load = Load([one.port for one in servers], f"full {dice.random()}", brings=False)
            load.sign_in()
            for number in range(ground.of(3, 20)):
                with load.at_work():
                    load.wait_for(8)
                with _full(disk):
                    _until_refused(load, told)
                    told.count("times that PostgreSQL ended by itself", not server.is_up)
                    told.wants(all(one.is_up for one in servers), "a server of the hall ended")
                if not server.is_up:
                    server.start(SMALL_LOG)  # whoever keeps it makes room and starts it
                for one in servers:
                    told.wants(one.wait("/ready", seconds=BACK_SECONDS) < BACK_SECONDS, "a server did not come back by itself")
                told.count("times full")
                load.settle()
                told.lost += [f"after time {number + 1}: {one}" for one in losses(hall, load.ledger)]
        refusals = load.ledger.refusals
        told.wants(all(any(sign in words for sign in (*OF_THE_DISK, AWAY)) for words in refusals), f"unclear: {sorted(refusals)[:3]}")
        told.wants(any(sign in words for words in refusals for sign in OF_THE_DISK), "no refusal tells that the disk is full")
        told.wants(not any("Traceback" in one.told for one in servers), "a server prints its insides")
        told.count("answers", len(load.ledger.known))
        told.count("refused with 503", load.ledger.counts["status 503"])
        told.lost += [*load.ledger.strange, *rebuilt(hall), *losses(hall, load.ledger)]


@contextmanager
def _a_home() -> Iterator[Path]:
    """Yield a folder for a PostgreSQL, beside those of others: where nobody may enter, for root's sake, it may not either."""
    home = Path(tempfile.mkdtemp(prefix="drillhall-pg-"))
    try:
        yield home
    finally:
        shutil.rmtree(home, ignore_errors=True)


def _until_refused(load: Load, told: Told) -> None:
    """Have everybody ask in turn until some were refused."""
    before = load.ledger.counts["status 503"]
    for _ in range(MOST_STEPS):
        for actor in load.actors:
            load.quietly(actor.step)
        if load.ledger.counts["status 503"] > before + len(load.actors):
            return
    told.lost.append(f"the disk was full, and in {MOST_STEPS * len(load.actors)} requests hardly anybody was refused")


def _commands(ground: Ground, told: Told) -> None:
    with _disk(ground) as disk:
        hall, kept = ground.place.hall("sqlite", within=disk), ground.place.folder / "kept.zip"
        hall.told_in = ground.place.folder
        tide = ground.place.folder / "tide.zip"
        tide.write_bytes(tide_zip(7))
        _grants(told, hall, "backup", kept)
        with _full(disk):
            _refuses(told, hall, "import", tide, "--yes")
            _refuses(told, hall, "backup", disk / "kept.zip")
            told.wants([path.name for path in disk.glob("kept*")] == [], "half a backup is left")
            _tells(told, hall, "rebuild")
            _tells(told, hall, "people", "list")
            _starts_or_tells(told, hall)
            fresh = Hall(disk / "fresh", f"sqlite:///{disk / 'fresh' / 'hall.sqlite'}")
            _refuses(told, fresh, "people", "list")
            _refuses(told, fresh, "restore", kept)
        with serving(hall), _full(disk):  # never is a backup needed more
            _grants(told, hall, "backup", ground.place.folder / "kept-from-a-full-disk.zip")
        told.lost += losses(hall, Ledger())
        _grants(told, fresh, "restore", kept)
        told.lost += losses(fresh, Ledger())
        _grants(told, hall, "import", tide, "--yes")
        _grants(told, hall, "backup", disk / "kept.zip")
        with serving(hall):
            told.count("starts")
        told.lost += [*losses(hall, _brought(7)), *rebuilt(hall)]


def _read_only(ground: Ground, told: Told) -> None:
    with _disk(ground) as disk:
        hall, kept = ground.place.hall("sqlite", within=disk), ground.place.folder / "kept.zip"
        hall.told_in = ground.place.folder
        tide = ground.place.folder / "tide.zip"
        tide.write_bytes(tide_zip(7))
        subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
        _refuses(told, hall, "serve", "--port", str(free_port()))
        _refuses(told, hall, "import", tide, "--yes")
        _refuses(told, hall, "rebuild")
        _refuses(told, hall, "backup", disk / "kept.zip")
        for words in (("people", "list"), ("doctor",), ("backup", kept)):
            _tells(told, hall, *words)
        _refuses(told, Hall(disk / "fresh", f"sqlite:///{disk / 'fresh' / 'hall.sqlite'}"), "people", "list")
        subprocess.run(["mount", "-o", "remount,rw", disk], check=True)
        told.lost += losses(hall, Ledger())
        with serving(hall):
            told.count("starts")
        _grants(told, hall, "import", tide, "--yes")
        told.lost += [*losses(hall, _brought(7)), *rebuilt(hall)]


def _brought(number: int) -> Ledger:
    """Return what is known once a catalogue was brought in."""
    return Ledger(catalogues_sent={tide_key(number)}, catalogues_known={tide_key(number)})


def _tells(told: Told, hall: Hall, *words: str | Path, granted: bool | None = None) -> None:
    """Run a command, which must do its work or say in a sentence why not."""
    done = hall.command(*words)
    what, said = " ".join(map(str, words[:2])), done.stderr.strip()
    told.count("commands")
    told.wants("Traceback" not in said, f"{what}: a traceback:\n{said[-1500:]}")
    told.wants(done.returncode == 0 or bool(said) or words[0] == "doctor", f"{what}: no word of why it ended with {done.returncode}")
    if granted is not None:
        told.wants((done.returncode == 0) is granted, f"{what}: ended with {done.returncode}: {said[-500:]}")
    if granted is False:
        told.wants(any(sign in said for sign in OF_THE_DISK), f"{what}: does not say why: {said[-500:]}")


def _refuses(told: Told, hall: Hall, *words: str | Path) -> None:
    _tells(told, hall, *words, granted=False)


def _grants(told: Told, hall: Hall, *words: str | Path) -> None:
    _tells(told, hall, *words, granted=True)


def _starts_or_tells(told: Told, hall: Hall) -> None:
    """Start a server where there is no room: it comes up, or says why not."""
    server = hall.serve()
    server.start(wait=False)
    try:
        server.wait()
        told.count("starts without room")
    except RuntimeError:
        told.wants("disk" in server.told, f"the server ended without a word of the disk: {server.told[-1000:]}")
    finally:
        if server.is_up:
            server.end()
    told.wants("Traceback" not in server.told, f"a start prints its insides: {server.told[-1500:]}")
