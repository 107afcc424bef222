"""Visits grown halls by HTTP, without a server: somebody signed in, and a learner who plays one waiting drill a day."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import timedelta
from itertools import count
from pathlib import Path
from tempfile import gettempdir
from typing import Any
from uuid import UUID

from sqlalchemy import select, text

from drillhall.people import sign_ins
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import ShowingRow
from drillhall.store.session import Store
from drillhall.web.session import cookie_name
from tests.bench.grown.founders import A_DRILL, LEARNER, NOW, READY_FROM
from tests.visits import Hall, Visitor, open_hall


def open_it(store: Store) -> Hall:
    """Open a grown hall at the evening on which its log ends."""
    hall = open_hall(store, Path(gettempdir()))
    hall.clock.at = NOW
    return hall


def enter(hall: Hall, account: int) -> Visitor:
    """Return somebody signed in, on a device of hers."""
    visitor = hall.visitor()
    with hall.store.work() as db:
        token = sign_ins.open_sign_in(db, db.get_one(AccountRow, account), stay=True, at=hall.clock())
    with hall.app.app_context():
        visitor.client.set_cookie(cookie_name(), token, domain="localhost")
    return visitor


class Batches:
    """The learner's batches of answers, one a day, so many of each waiting drill; `send_next` sends the next as the player does."""

    def __init__(self, store: Store, *, answers: int = A_DRILL) -> None:
        self.hall = open_it(store)
        self._visitor, self._answers, self._days = enter(self.hall, LEARNER), answers, count()
        self._headers = {"X-CSRFToken": self._visitor.token()}
        with store.look() as db:
            hers = select(ShowingRow.id, ShowingRow.asks).where(ShowingRow.account_id == LEARNER, ShowingRow.id >= READY_FROM)
            self._waiting = list(db.execute(hers.order_by(ShowingRow.id)))

    def send_next(self) -> dict[str, Any]:
        """Send the next day's batch, and return what is said to it."""
        day = next(self._days)
        self.hall.clock.at = NOW + timedelta(days=day, minutes=10)
        drill = self._waiting[day * A_DRILL :][: self._answers]
        answers = [self._answer(showing, asks, place) for place, (showing, asks) in enumerate(drill)]
        sent = self._visitor.client.post("/drills/answers", json={"answers": answers}, headers=self._headers)
        told: dict[str, Any] = sent.get_json()
        assert len(told["stored"]) == self._answers, told
        return told

    def _answer(self, showing: int, asks: list[dict[str, Any]], place: int) -> dict[str, Any]:
        at = self.hall.clock.at - timedelta(minutes=9) + timedelta(seconds=10 * place)
        said = asks[0]["choices"][0]
        told = {"id": str(UUID(int=showing, version=4)), "showing": showing, "ask": 0, "said": said, "sure": "certain", "seconds": 3.0}
        return told | {"hint": False, "at": at.isoformat()}


def cores_of(*stores: Store, more: int = 0) -> Callable[[], float]:
    """Return a clock of the time on a core, in seconds: of this process, and of those PostgreSQL processes that work for some halls."""
    pids = [pid for pid in map(_backend, stores) if pid] + [more] * bool(more)

    def clock() -> float:
        return time.process_time() + sum(_seconds_on_a_core(pid) for pid in pids)

    return clock


def _backend(store: Store) -> int:
    if store.is_sqlite:
        return 0
    with store.look() as db:
        return int(db.execute(text("SELECT pg_backend_pid()")).scalar_one())


def _seconds_on_a_core(pid: int) -> float:
    """Linux, Documentation/scheduler/sched-stats: the first number of a process's schedstat is its nanoseconds on a core."""
    return int(Path(f"/proc/{pid}/schedstat").read_text(encoding="ascii").split()[0]) / 1e9
