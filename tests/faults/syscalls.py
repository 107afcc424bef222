"""Counts a command's system calls, and kills it as it makes a certain one; strace does both."""

from __future__ import annotations

import signal
import tempfile
from pathlib import Path
from typing import Final

from tests.faults.halls import Hall

KILLED: Final = -signal.SIGKILL


def count_calls(hall: Hall, call: str, *words: str | Path) -> int:
    """Run a command to its end and return how often it made a system call."""
    with tempfile.NamedTemporaryFile("r") as log:
        done = hall.command(*words, before=("strace", "-f", "--seccomp-bpf", "-qq", "-o", log.name, "-e", f"trace={call}"))
        if done.returncode != 0:
            raise RuntimeError(f"the command ended with {done.returncode}: {done.stderr}")
        return sum(f" {call}(" in line for line in log)


def kill_at(hall: Hall, call: str, number: int, *words: str | Path) -> bool:
    """Run a command that is killed as it makes a system call for the `number`-th time; return whether it came so far."""
    inject = f"inject={call}:signal=KILL:when={number}"
    # With --seccomp-bpf strace 6.1 does not deliver the signal.
    before = ("strace", "-f", "-qq", "-o", "/dev/null", "-e", f"trace={call}", "-e", inject)
    done = hall.command(*words, before=before)
    return done.returncode in (KILLED, 128 + signal.SIGKILL)
