"""A crowd that uses a hall as people do: they sign in once, look at Today, drill (most with the player, some page by page), see pictures,
look where they stand; a leader looks at her group. Each request is seen with its kind, its answer and its time.
"""

from __future__ import annotations

import html
import re
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import partial
from random import Random
from types import MappingProxyType
from typing import Any, Final, TypeAlias

from drillhall.people import accounts, groups
from tests.cast import Someone
from tests.faults.browsers import Browser
from tests.faults.halls import Hall, enrol
from tests.faults.loading import Learner, Ledger, all_at_work
from tests.faults.proxying import Proxy
from tests.faults.visitors import Away, Reply

A_GROUP: Final = 25
"""How many are in a group; the first of them leads it."""
PAGE_BY_PAGE: Final = 0.2
"""How many drill without script."""
A_BATCH: Final = 4
ANSWERS_A_VISIT: Final = 16
PAUSE: Final = 0.05
"""How long somebody waits at least after an answer that was none."""


@dataclass(frozen=True)
class Seen:
    """One request and what came of it; status 0: no whole answer. `cpu`: seconds of the server's cores, where one asks at a time."""

    kind: str
    status: int
    began: float
    seconds: float
    size: int
    cpu: float = 0.0


Do: TypeAlias = "Callable[[], Sequence[Do] | None]"
"""One request; returns what follows from it, or None where it is to be asked again."""


@dataclass
class Member(Learner):
    """One of the crowd; `leads` is the address of the group that she leads."""

    leads: str = ""
    pages: bool = False
    seen: list[Seen] = field(default_factory=list)
    todo: deque[Do] = field(default_factory=deque)
    cached: set[str] = field(default_factory=set)
    form: dict[str, str] = field(default_factory=dict)
    is_in: bool = False
    clock: Callable[[], float] = float

    def step(self) -> None:
        if not self.todo:
            self.todo.extend(self._visit() if self.is_in else (self._page("door", "/sign-in"), self._token, self._sign_in, self._token))
        following = self.todo[0]()
        if following is not None:
            self.todo.popleft()
            self.todo.extendleft(reversed(following))

    def finish(self) -> bool:
        """Send again what has not been acknowledged."""
        if self.form:
            self._hand_in(0)
        elif self.batch:
            self._hand_in_batch(())
        return not self.batch and not self.form

    def ask(self, kind: str, method: Callable[..., Reply], *words: Any, **more: Any) -> Reply:
        """Ask, and note what came; raises Away."""
        began, used, reply = time.monotonic(), self.clock(), None
        try:
            reply = method(*words, **more)
        finally:
            status, size = (reply.status, len(reply.body)) if reply else (0, 0)
            self.seen.append(Seen(kind, status, began, time.monotonic() - began, size, self.clock() - used))
        self.ledger.note(reply, kind)
        return reply

    def _page(self, kind: str, path: str) -> Do:
        """Ask for a page; what it names that this device has not got follows."""

        def see() -> Sequence[Do] | None:
            reply = self.ask(kind, self.visitor.ask, "GET", path)
            return self._files(reply.words) if reply.status < 400 else None

        return see

    def _files(self, page: str) -> list[Do]:
        files = re.findall(r'(?:href|src)="(/static/[^"]+\.(?:css|js|svg))"', page)
        return self._missing("file", files) + self._missing("picture", re.findall(r'src="(/pictures/[^"]+)"', page))

    def _missing(self, kind: str, addresses: Sequence[str]) -> list[Do]:
        return [partial(self._file, kind, one) for one in dict.fromkeys(map(html.unescape, addresses)) if one not in self.cached]

    def _file(self, kind: str, address: str) -> Sequence[Do] | None:
        if address not in self.cached:
            if self.ask(kind, self.visitor.ask, "GET", address).status >= 400:
                return None
            self.cached.add(address)
        return ()

    def _token(self) -> Sequence[Do] | None:
        reply = self.ask("token", self.visitor.ask, "GET", "/csrf")
        self.visitor.token = reply.json["token"] if reply.status == 200 else self.visitor.token
        return () if reply.status == 200 else None

    def _sign_in(self) -> Sequence[Do] | None:
        who = self.visitor.who
        reply = self.ask("sign in", self.visitor.post_form, "/sign-in", name=who.name, passphrase=who.passphrase, stay="on")
        self.is_in = reply.status == 303
        return () if self.is_in else None

    def _visit(self) -> Iterator[Do]:
        yield self._page("today", "/")
        yield self._drill_by_pages if self.pages else self._drill
        yield self._page("end of drill", "/drill/end")
        if self.visitor.dice.random() < 0.4:
            yield self._page("standing", "/standing")
        if self.leads:
            yield self._page("group", self.leads)

    def _drill(self) -> Sequence[Do] | None:
        """Plan; the page, the packet, and batches with their pictures follow."""
        planned = self.ask("plan", self.visitor.post_json, "/drills", {})
        if planned.status != 201:
            return None
        return (self._page("drill page", "/drill"), partial(self._packet, planned.json["packet_url"]))

    def _packet(self, address: str) -> Sequence[Do] | None:
        packet = self.ask("packet", self.visitor.ask, "GET", address, Accept="application/json")
        if packet.status != 200:
            return None
        told = packet.json
        pictures = {showing["showing"]: showing["picture"]["url"] for one in told["rounds"] for showing in one["showings"]}
        answers, following = list(self._answers(told))[:ANSWERS_A_VISIT], list[Do]()
        for start in range(0, len(answers), A_BATCH):
            batch = answers[start : start + A_BATCH]
            following += self._missing("picture", [pictures[answer["showing"]] for answer in batch])
            following.append(partial(self._hand_in_batch, batch))
        return following

    def _hand_in_batch(self, batch: Sequence[dict[str, Any]]) -> Sequence[Do] | None:
        self.batch = self.batch or list(batch)
        ids = self.prepare(self.batch)
        reply = self.ask("answers", self.visitor.post_json, "/drills/answers", {"answers": self.batch})
        if reply.status != 200:
            return None
        self.ledger.known.update(ids & {*reply.json["stored"], *reply.json["known"]})
        if ids - self.ledger.known:
            self.ledger.strange.append(f"not all of a batch was taken: {reply.words[:400]}")
        self.batch = []
        return ()

    def _drill_by_pages(self) -> Sequence[Do] | None:
        reply = self.ask("plan", self.visitor.post_form, "/drills")
        return (partial(self._see_drill, "/drill", ANSWERS_A_VISIT // 2),) if reply.status == 303 else None

    def _see_drill(self, path: str, left: int) -> Sequence[Do] | None:
        """See a pair, a question or an answer; what is to be done there follows, until so many answers are given."""
        page = self.ask("drill page", self.visitor.ask, "GET", path)
        if page.status >= 400:
            return None
        following, words = self._files(page.words), page.words
        form = {name: html.unescape(value) for name, value in re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', words)}
        choices = re.findall(r'name="answer" value="([^"]+)"', words)
        if left and choices and "id" in form:
            form["answer"] = html.unescape(self.visitor.dice.choice(choices))
            following.append(partial(self._hand_in, left, form))
        elif left and (met := re.search(r'href="(/drill\?met=\d+)"', words)):
            following.append(partial(self._see_drill, met[1], left))
        return following

    def _hand_in(self, left: int, form: Mapping[str, str] = MappingProxyType({})) -> Sequence[Do] | None:
        """Hand in the one answer of a page, and see what is told of it, then the next question."""
        self.form = self.form or dict(form)
        self.ledger.sent.add(self.form["id"])
        reply = self.ask("answer by page", self.visitor.post_form, "/drills/answers", **self.form)
        if reply.status != 303:
            return None
        self.ledger.known.add(self.form["id"])
        self.form = {}
        return (self._page("drill page", reply.headers["Location"]), partial(self._see_drill, "/drill", left - 1)) if left else ()


class Crowd:
    """Members at work, each in a thread of her own; `every` is how many seconds lie between the requests of one of them."""

    def __init__(self, proxy: Proxy, people: Sequence[Someone], leaders: dict[str, str], dice: Random) -> None:
        self.ledger = Ledger()
        self.every = 0.0
        self.members: list[Member] = []
        for number, one in enumerate(people):
            place = f"127.0.{2 + number // 200}.{1 + number % 200}"
            visitor = Browser(one, [proxy.https], Random(dice.getrandbits(64)), proxy=proxy, place=place)
            pages = visitor.dice.random() < PAGE_BY_PAGE
            self.members.append(Member(visitor, self.ledger, leads=leaders.get(one.name, ""), pages=pages))

    @property
    def seen(self) -> list[Seen]:
        """Every request, in the order of its beginning."""
        return sorted((one for member in self.members for one in member.seen), key=lambda one: one.began)

    def at_work(self, some: int = 0) -> AbstractContextManager[None]:
        """Let all of them, or the first so many, work within."""
        return all_at_work(self._work, self.members[: some or None])

    def settle(self, seconds: float = 60) -> None:
        """Let everybody send again what was not acknowledged, or raise RuntimeError."""
        until = time.monotonic() + seconds
        while not all(self.quietly(member, member.finish) for member in self.members):
            if time.monotonic() > until:
                raise RuntimeError(f"not all was acknowledged in {seconds:.0f} seconds: {self.ledger.strange[-3:]}")
            time.sleep(PAUSE)
        for member in self.members:
            member.visitor.close()  # type: ignore[attr-defined]  # she is at a browser

    def quietly(self, member: Member, do: Callable[[], bool | None]) -> bool:
        """Do one step, and return whether it came to something."""
        before = len(member.seen)
        try:
            done = do()
        except Away:
            return False
        except Exception as error:  # noqa: BLE001 - a thread that died unseen would count as nothing lost
            self.ledger.strange.append(f"{type(error).__name__}: {error}")
            return False
        return done is not False and all(one.status < 400 for one in member.seen[before:])

    def _work(self, member: Member, over: threading.Event) -> None:
        following = time.monotonic() + member.visitor.dice.random() * self.every
        while not over.is_set():
            if (early := following - time.monotonic()) > 0:
                over.wait(min(early, 0.5))
                continue
            following = max(following, time.monotonic() - self.every) + self.every
            if not self.quietly(member, member.step):
                over.wait(PAUSE)


def gather(hall: Hall, number: int) -> tuple[list[Someone], dict[str, str]]:
    """Give so many people an account, every pair set, and groups; return them, and by name the address of the group that she leads."""
    people = [Someone(f"Gatherer {at}", f"gull number {at} waits on the groyne", "UTC") for at in range(1, number + 1)]
    enrol(hall, *people)
    leaders, now = {}, datetime.now(UTC)
    with hall.store() as store, store.work() as db:
        for start in range(0, number, A_GROUP):
            persons = [accounts.the_person_called(db, one.name) for one in people[start : start + A_GROUP]]
            key = f"gathering-{start}"
            group = groups.make_group(db, by=persons[0], title=f"Gathering {start}", kind="club", is_paid=False, public_id=key, at=now)
            for person in persons[1:]:
                groups.add_member(db, group.id, person.id, at=now)
            leaders[people[start].name] = f"/groups/{key}"
    return people, leaders
