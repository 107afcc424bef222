"""Takes backups while people use the hall and restores them on the other engine; looks in which order a server syncs and answers."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterable, Sequence
from functools import partial
from typing import Final

from sqlalchemy import text

from tests.acts.backed_up import every_file
from tests.engines import ENGINES
from tests.faults.checking import losses, refold_differs
from tests.faults.halls import LEARNERS, Hall, serving
from tests.faults.loading import Learner, Ledger, Load, Sender
from tests.faults.rows import Ground, Row, Told
from tests.faults.visitors import Visitor

OTHER: Final = {"sqlite": "postgresql", "postgresql": "sqlite"}
TRACED: Final = "fsync,fdatasync,pwrite64,write,sendto,recvfrom,rename,renameat,renameat2"
CALL: Final = re.compile(r"(?:\d+ +)?(?P<name>\w+)\(\d+<(?P<what>[^>]*)>(?P<rest>.*)")


def rows() -> list[Row]:
    """Return the rows."""
    does = "a backup taken under load on {}, restored on the other engine"
    return [
        *(Row(f"backup:{engine}", does.format(engine), partial(_backs_up, engine)) for engine in ENGINES),
        Row("durable:sqlite", "the order of system calls: the log is synced before the acknowledgement is sent", _syncs),
        Row("durable:postgresql", "what PostgreSQL says of how it keeps what the hall commits", _settings),
    ]


def _backs_up(engine: str, ground: Ground, told: Told) -> None:
    dice, hall = ground.dice(f"backup {engine}"), ground.place.hall(engine)
    with serving(hall, processes=2) as servers:
        load = Load([server.port for server in servers], f"backup {dice.random()}")
        load.sign_in()
        for number in range(ground.of(2, 20)):
            file = ground.place.folder / f"{hall.folder.name}-{number}.zip"
            with load.at_work():
                load.wait_for(12)
                before = Ledger(known=set(load.ledger.known), pictures_known=set(load.ledger.pictures_known))
                before.catalogues_known = set(load.ledger.catalogues_known)
                done = hall.command("backup", file)
                load.wait_for(3)
            told.wants(done.returncode == 0 and "could not be found" not in done.stderr, f"backup: {done.stderr}")
            before.sent, before.pictures_sent = load.ledger.sent, load.ledger.pictures_sent
            before.catalogues_sent = load.ledger.catalogues_sent
            _restored(ground.place.bare(OTHER[engine]), file, before, told)
            told.count("backups")
        load.settle()
    told.count("answers", len(load.ledger.known))
    told.lost += [*load.ledger.strange, *losses(hall, load.ledger)]


def _restored(there: Hall, file: object, before: Ledger, told: Told) -> None:
    """Restore a backup, and compare the restored hall with it row by row and file by file: a backup of it holds the very same.

    But for one line: the restored hall knows the backup that it comes from.
    """
    done = there.command("restore", str(file))
    told.wants(done.returncode == 0, f"restore: {done.stderr}")
    told.lost += losses(there, before)
    with there.store() as store:
        told.lost += refold_differs(store)
    again = there.folder / "again.zip"
    done = there.command("backup", again)
    told.wants(done.returncode == 0, f"backup of the restored hall: {done.stderr}")
    with zipfile.ZipFile(str(file)) as first, zipfile.ZipFile(again) as second:
        names = [name for name in first.namelist() if name.startswith(("rows/", "pictures/"))]
        told.wants(names == [name for name in second.namelist() if name.startswith(("rows/", "pictures/"))], "tables or files differ")
        told.wants(second.read("rows/setting.jsonl").count(b'"restored"') == 1, "the restored hall does not know its backup")
        for name in names:
            told.wants(_lines(first.read(name)) == _lines(second.read(name)), f"{name} differs")
            told.count("rows compared", first.read(name).count(b"\n") if name.startswith("rows/") else 0)
    told.count("files compared", len(every_file(there.storage)))


def _lines(content: bytes) -> list[bytes]:
    return sorted(line for line in content.splitlines() if not line.startswith(b'["last_backup"'))


def _syncs(ground: Ground, told: Told) -> None:
    hall, ledger = ground.place.hall("sqlite"), Ledger()
    log = ground.place.folder / f"{hall.folder.name}.calls"
    before = ("strace", "-f", "-y", "-qq", "-s", "200", "-o", str(log), "-e", f"trace={TRACED}")
    with serving(hall, before=before) as (server,):
        learner = Learner(Visitor(LEARNERS[0], [server.port], ground.dice("durable")), ledger, repeats=0)
        sender = Sender(Visitor(LEARNERS[1], [server.port], ground.dice("durable pictures")), ledger)
        for actor in (learner, sender):
            actor.visitor.sign_in()
        while len(ledger.known) < ground.of(30, 300):
            learner.step()
        for _ in range(ground.of(3, 30)):
            sender.step()
    lines = log.read_text(encoding="utf-8", errors="replace").splitlines()
    for path, wants_files in (("/drills/answers", False), ("/my-pictures/send", True)):
        answered, faults = synced_before_answered(lines, path, wants_files=wants_files)
        told.count(f"answers to {path}", answered)
        told.wants(answered > 0, f"no answer to {path} was seen")
        told.lost += faults
    told.lost += ledger.strange


def synced_before_answered(lines: Iterable[str], path: str, *, wants_files: bool = False) -> tuple[int, list[str]]:
    """Read a trace of one server that is asked one thing at a time; return how many requests for a path were granted, and what was amiss.

    Between a request and its answer the database's log must be written and then synced; `wants_files`: every file that was renamed to
    its name must have been synced as well before.
    """
    answered, faults, calls, is_asked = 0, list[str](), list[tuple[str, str, str]](), False
    for line in lines:
        if (call := CALL.match(line)) is None and "rename" not in line:
            continue
        name, what, rest = (call["name"], call["what"], call["rest"]) if call else ("rename", line, "")
        if name == "recvfrom" and f'"POST {path} ' in rest:
            is_asked, calls = True, []
        elif is_asked and name == "sendto" and '"HTTP/1.1 ' in rest:
            is_asked = False
            if '"HTTP/1.1 200' in rest:
                answered += 1
                faults += [f"{path}: {fault}" for fault in amiss(calls, wants_files=wants_files)]
        elif is_asked:
            calls.append((name, what, rest))
    return answered, faults


def amiss(calls: Sequence[tuple[str, str, str]], *, wants_files: bool) -> list[str]:
    """Return what is wrong with what was done before one answer."""
    written = [place for place, (name, what, _) in enumerate(calls) if name == "pwrite64" and what.endswith("-wal")]
    synced = [place for place, (name, what, _) in enumerate(calls) if name in {"fdatasync", "fsync"} and what.endswith("-wal")]
    found = [] if written else ["nothing was written into the log"]
    if written and not (synced and synced[-1] > written[-1]):
        found.append("the log was written and not synced before the answer went out")
    if wants_files:
        renames = [place for place, (name, what, _) in enumerate(calls) if name == "rename" and ".unfinished-" in what]
        files = [place for place, (name, what, _) in enumerate(calls) if name == "fsync" and ".unfinished-" in what]
        found += [] if renames else ["no file was renamed to its name"]
        late = len(files) < len(renames) or any(file > rename for file, rename in zip(files, renames, strict=False))
        found += ["a file was renamed before it was synced"] if late else []
        found += ["a file was renamed after the log was synced"] if renames and synced and renames[-1] > synced[-1] else []
    return found


def _settings(ground: Ground, told: Told) -> None:
    hall = ground.place.hall("postgresql")
    with hall.store() as store, store.work() as db:
        for name in ("fsync", "synchronous_commit", "full_page_writes"):
            value = db.scalar(text(f"SHOW {name}"))
            told.wants(value == "on", f"{name} is {value} in a session of the hall")
