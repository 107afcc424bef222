"""A load on a hall: learners who answer, somebody who sends pictures, somebody who brings catalogues in; and what each was told.

Whoever gets no whole answer, or 503, asks again with the very same, as the page's own queue does. What is acknowledged is noted only
when the whole answer has come.
"""

from __future__ import annotations

import hashlib
import threading
import time
from collections import Counter, deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from random import Random
from typing import Any, Final, TypeVar

from tests.acts.pictures import jpeg
from tests.faults.halls import LEARNERS
from tests.faults.tides import tide_key, tide_zip
from tests.faults.visitors import Away, Reply, Visitor

T = TypeVar("T")

REST: Final = 0.05
EXPECTED: Final = frozenset({200, 201, 303, 503})
SENDER, BRINGER = LEARNERS[-2], LEARNERS[-1]


@dataclass
class Ledger:
    """What was sent and what was acknowledged; `strange` are answers that no fault excuses."""

    sent: set[str] = field(default_factory=set)
    known: set[str] = field(default_factory=set)
    pictures_sent: set[str] = field(default_factory=set)
    pictures_known: set[str] = field(default_factory=set)
    catalogues_sent: set[str] = field(default_factory=set)
    catalogues_known: set[str] = field(default_factory=set)
    counts: Counter[str] = field(default_factory=Counter)
    refusals: set[str] = field(default_factory=set)
    strange: list[str] = field(default_factory=list)

    @property
    def replies(self) -> int:
        """How many whole answers have come that granted what was asked."""
        return sum(self.counts[f"status {status}"] for status in EXPECTED if status < 400)

    @property
    def is_settled(self) -> bool:
        """Whether all that was sent has been acknowledged."""
        return (self.sent, self.pictures_sent, self.catalogues_sent) == (self.known, self.pictures_known, self.catalogues_known)

    def note(self, reply: Reply, what: str) -> bool:
        """Count an answer, and return whether it is one to go on from."""
        self.counts[f"status {reply.status}"] += 1
        if reply.status not in EXPECTED:
            self.strange.append(f"{what}: {reply.status} {reply.words[:400]}")
        if reply.status == 503:
            self.refusals.add(reply.words)
        if reply.status == 503 and "Retry-After" not in reply.headers:
            self.strange.append(f"{what}: 503 without Retry-After")
        return reply.status < 400


@dataclass
class Actor:
    """Somebody at work: each `step` is one request, or what follows from it."""

    visitor: Visitor
    ledger: Ledger

    def step(self) -> None:
        """Ask once more."""
        raise NotImplementedError

    def finish(self) -> bool:
        """Ask for what is still open, and return whether nothing is."""
        raise NotImplementedError


@dataclass
class Learner(Actor):
    """Drills without end: answers in small batches, some sent twice."""

    repeats: float = 0.1
    waiting: deque[dict[str, Any]] = field(default_factory=deque)
    batch: list[dict[str, Any]] = field(default_factory=list)

    def step(self) -> None:
        if not self.batch and not self.waiting:
            self._open_drill()
            return
        if not self.batch:
            self.batch = [self.waiting.popleft() for _ in range(min(self.visitor.dice.randint(1, 4), len(self.waiting)))]
        self._send()

    def finish(self) -> bool:
        if self.batch:
            self._send()
        return not self.batch

    def _open_drill(self) -> None:
        planned = self.visitor.post_json("/drills", {})
        if not self.ledger.note(planned, "plan"):
            return
        packet = self.visitor.ask("GET", planned.json["packet_url"], Accept="application/json")
        if self.ledger.note(packet, "packet"):
            self.waiting.extend(self._answers(packet.json))

    def _answers(self, packet: dict[str, Any]) -> Iterator[dict[str, Any]]:
        dice = self.visitor.dice
        for one_round in packet["rounds"]:
            for showing in one_round["showings"]:
                is_right = dice.random() < 0.8
                for ask in (ask for ask in showing["asks"] if str(ask["place"]) not in showing["given"]):
                    said = ask["answer_key"] if is_right else dice.choice(ask["choices"])["key"]
                    yield {"showing": showing["showing"], "ask": ask["place"], "said": said, "seconds": round(dice.uniform(1, 9), 2)}
                if not is_right and one_round["ends_at_miss"]:
                    break

    def prepare(self, batch: list[dict[str, Any]]) -> set[str]:
        """Give each answer of a batch what it lacks, note that it is sent, and return their ids."""
        for answer in batch:
            answer.setdefault("id", self.visitor.new_id())
            answer.setdefault("at", datetime.now(UTC).isoformat())
            answer.setdefault("sure", self.visitor.dice.choice(("certain", "probable", "possible")))
        ids = {answer["id"] for answer in batch}
        self.ledger.counts["batches sent again"] += bool(ids & self.ledger.sent)
        self.ledger.sent |= ids
        return ids

    def _send(self) -> None:
        ids = self.prepare(self.batch)
        reply = self.visitor.post_json("/drills/answers", {"answers": self.batch})
        if not self.ledger.note(reply, "answers"):
            return
        told = reply.json
        if told["refused"]:
            self.ledger.strange.append(f"refused: {told['refused']}")
        self.ledger.known.update(told["stored"], told["known"])
        if ids - set(told["stored"]) - set(told["known"]):
            self.ledger.strange.append("an answer of the batch is told nothing of")
        if self.visitor.dice.random() >= self.repeats:  # else the same batch goes once more, as from a page that never heard
            self.batch = []


@dataclass
class Sender(Actor):
    """Sends one picture after another."""

    number: int = 0
    content: bytes = b""

    def step(self) -> None:
        if not self.content:
            self.number += 1
            self.content = jpeg(self.visitor.dice.getrandbits(32))
        self._send()

    def finish(self) -> bool:
        if self.content:
            self._send()
        return not self.content

    def _send(self) -> None:
        digest = hashlib.sha256(self.content).hexdigest()
        self.ledger.pictures_sent.add(digest)
        reply = self.visitor.post_file("/my-pictures/send", "file", f"{self.number}.jpg", self.content, undisturbed="on")
        if self.ledger.note(reply, "picture"):
            self.ledger.pictures_known.add(digest)
            self.content = b""


@contextmanager
def all_at_work(work: Callable[[T, threading.Event], None], those: Iterable[T]) -> Iterator[None]:
    """Let each of those work within, in a thread of its own, until the event that it is given is set on leaving."""
    over = threading.Event()
    threads = [threading.Thread(target=work, args=(one, over)) for one in those]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        over.set()
        for thread in threads:
            thread.join()


@dataclass
class Bringer(Actor):
    """Brings one catalogue after another in: the zip, then the word that it be imported."""

    number: int = 0
    staged: str = ""

    def step(self) -> None:
        if not self.number:
            self.number = self.visitor.dice.getrandbits(31)
        self._bring()

    def finish(self) -> bool:
        if self.staged or tide_key(self.number) in self.ledger.catalogues_sent:
            self._bring()
        return self.ledger.catalogues_sent == self.ledger.catalogues_known

    def _bring(self) -> None:
        if not self.staged:
            reply = self.visitor.post_file("/catalogues", "zip", "tide.zip", tide_zip(self.number))
            self.staged = reply.headers["Location"] if self.ledger.note(reply, "zip") else ""
            return
        key = tide_key(self.number)
        self.ledger.catalogues_sent.add(key)
        reply = self.visitor.post_form(self.staged)
        if reply.status == 404:  # the zip is over: imported with an answer that was lost, or too old by the hall's clock
            self.staged = ""
            self.ledger.counts["zips sent again"] += 1
            return
        if self.ledger.note(reply, "import"):
            self.ledger.catalogues_known.add(key)
            self.number, self.staged = 0, ""


class Load:
    """All of them at work, each in a thread of its own, until told to rest."""

    def __init__(self, ports: Sequence[int], seed: str, *, learners: int = 4, sends: bool = True, brings: bool = True) -> None:
        self.ledger = Ledger()
        dice = Random(seed)

        def visitor(who: Any) -> Visitor:
            return Visitor(who, ports, Random(dice.getrandbits(64)))

        self.actors: list[Actor] = [Learner(visitor(who), self.ledger) for who in LEARNERS[:learners]]
        self.actors += [Sender(visitor(SENDER), self.ledger)] * sends
        self.actors += [Bringer(visitor(BRINGER), self.ledger)] * brings

    def sign_in(self) -> None:
        """Sign everybody in."""
        for actor in self.actors:
            actor.visitor.sign_in()

    def at_work(self) -> AbstractContextManager[None]:
        """Let everybody work within, and rest afterwards."""
        return all_at_work(self._work, self.actors)

    def wait_for(self, replies: int, *, seconds: float = 60) -> None:
        """Wait until so many whole answers have come from now on, or raise RuntimeError."""
        wanted, until = self.ledger.replies + replies, time.monotonic() + seconds
        while self.ledger.replies < wanted:
            if time.monotonic() > until:
                raise RuntimeError(
                    f"only {self.ledger.replies} of {wanted} answers came in {seconds:.0f} seconds: {self.ledger.strange[-3:]}"
                )
            time.sleep(0.005)

    def settle(self, seconds: float = 60) -> None:
        """Ask again for whatever has not been acknowledged, until all of it is, or raise RuntimeError."""
        until = time.monotonic() + seconds
        while not all(self.quietly(actor.finish) for actor in self.actors):
            if time.monotonic() > until:
                raise RuntimeError(f"not all was acknowledged in {seconds:.0f} seconds: {self.ledger.strange[-3:]}")
            time.sleep(REST)

    def _work(self, actor: Actor, over: threading.Event) -> None:
        while not over.is_set():
            if not self.quietly(actor.step):
                over.wait(REST)

    def quietly(self, do: Callable[[], bool | None]) -> bool:
        """Do one step, and return whether its asker may go on at once."""
        before = self.ledger.counts["status 503"]
        try:
            done = do()
        except Away:
            self.ledger.counts["cut off"] += 1
            return False
        except Exception as error:  # noqa: BLE001 - a thread that died unseen would count as nothing lost
            self.ledger.strange.append(f"{type(error).__name__}: {error}")
            return False
        return done is not False and self.ledger.counts["status 503"] == before
