"""Judges answers to requests that nobody meant: no fault of the hall, nothing of its insides told, and nothing changed by a refusal."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Final

from tests.faults.fuzz.drafts import Draft, Sent
from tests.faults.fuzz.stage import Reply

READING: Final = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})
LONGEST_SECONDS: Final = 5.0
"""Of a core, which one request may take; the slowest that is meant, a batch of twelve pictures, takes one."""
SECOND_STEPS: Final = ("begin_passkey", "by_passkey", "code", "renew_spare", "take_off", "turn_off")
NOTED: Final = {("account.sign_in", "audit"): "a sign-in that was refused is a line of the log of acts"} | {
    (f"second_step.{name}", "audit"): "a code or a passkey that was refused is one as well" for name in SECOND_STEPS
}
"""What a refusal by a route writes all the same, and why."""
INSIDES: Final = (b"Traceback (most recent call last)", b'File "/', b"sqlalchemy.exc", b"psycopg.errors", b"sqlite3.")


@dataclass
class Verdicts:
    """What was counted, and each kind of finding once, with the first request that showed it."""

    counts: Counter[str] = field(default_factory=Counter)
    asked: set[str] = field(default_factory=set)
    reached: set[str] = field(default_factory=set)
    granted: set[str] = field(default_factory=set)
    found: dict[str, str] = field(default_factory=dict)
    times: Counter[str] = field(default_factory=Counter)
    routes: set[str] = field(default_factory=set)

    def note(self, kind: str, told: str) -> None:
        """Note a finding."""
        self.times[kind] += 1
        self.found.setdefault(kind, told)

    def told(self) -> list[str]:
        """Return what was found, each kind with how often and with the first of it."""
        return [f"{kind} ({self.times[kind]} times); first at {first}" for kind, first in sorted(self.found.items())]

    def add(self, other: Verdicts) -> None:
        """Add what another one counted and found."""
        most = max(self.counts["MiB at most"], other.counts["MiB at most"])
        self.counts += other.counts
        self.counts["MiB at most"] = most
        self.asked |= other.asked
        self.reached |= other.reached
        self.granted |= other.granted
        self.routes |= other.routes
        self.times += other.times
        self.found = other.found | self.found

    def judge(self, draft: Draft, sent: Sent, reply: Reply, changes: list[str], where: str) -> None:
        """Judge one answer; `where` tells how to come by the request again."""
        self._count(draft, reply)
        for fault in faults(draft.endpoint, sent, reply, changes):
            self.note(f"{draft.endpoint}: {fault}", f"{where}: {draft.who} {sent.told()}\n{reply.raised}{reply.fault}".rstrip())

    def _count(self, draft: Draft, reply: Reply) -> None:
        to_sign_in = reply.status == 303 and reply.headers.get("Location", "").startswith("/sign-in")
        self.counts["requests"] += 1
        self.asked.add(draft.endpoint)
        self.counts[f"{reply.status // 100}xx" if reply.status else "raised"] += 1
        if draft.endpoint == "":
            self.counts["to no route"] += 1
        elif 200 <= reply.status < 400 and not to_sign_in:
            self.counts["granted"] += 1
            self.counts["granted that change something"] += draft.method not in READING
            self.granted.add(draft.endpoint)
        if draft.endpoint and not to_sign_in and reply.status not in {400, 404, 405}:
            self.reached.add(draft.endpoint)


def faults(endpoint: str, sent: Sent, reply: Reply, changes: list[str]) -> list[str]:
    """Return what is wrong with an answer, each in the same words for the same fault."""
    found = []
    changes = [one for one in changes if (endpoint, one) not in NOTED]
    if reply.raised:
        found.append(f"escaped: {reply.raised.partition(':')[0]}")
    if reply.status >= 500:
        lines = reply.fault.strip().splitlines()
        place = next((line.strip() for line in reversed(lines) if "drillhall/" in line and "File" in line), "")
        kind = lines[0].rpartition(" ")[2] if lines else ""
        found.append(f"status {reply.status} {kind} {place.partition('drillhall/')[2]}")
    if any(sign in reply.body for sign in INSIDES):
        found.append("tells its insides")
    if changes and (sent.method.upper() in READING or reply.status >= 400):
        found.append(f"{sent.method} answered {reply.status} and changed {', '.join(_kinds(changes))}")
    if reply.seconds > LONGEST_SECONDS:
        found.append(f"took more than {LONGEST_SECONDS:.0f} seconds of a core")
    return found


def _kinds(changes: list[str]) -> list[str]:
    return sorted({"a file" if one.startswith("the file") else one for one in changes})
