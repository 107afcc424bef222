"""A voice that writes down: it stands where the speech service would, takes its protocol, and keeps what was spoken or cut off."""

from __future__ import annotations

import re
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

LETTERS_A_SECOND: Final = 90
"""How fast it speaks: some six times as fast as a person, so that a run ends soon, and yet in time, so that words can be cut off."""

QUIET: Final = 1.2
"""Seconds without a word after which nothing more is expected."""

ANSWERS: Final = {
    "SET": "200 OK",
    "CANCEL": "210 OK",
    "STOP": "210 OK",
    "PAUSE": "211 OK",
    "RESUME": "212 OK",
    "BLOCK": "260 OK",
    "QUIT": "231 OK",
}


@dataclass(frozen=True)
class Said:
    """One thing that was to be said, and which share of it was, 0 to 1, before it was cut off."""

    words: str
    share: float = 1.0

    def __str__(self) -> str:
        return self.words if self.share == 1 else f"{self.words} [cut off after {self.share:.0%}]"


@dataclass
class _Waiting:
    words: str
    line: _Line
    number: int
    begun: float = 0.0


class Voice:
    """Speaks one thing after the other, each in its time."""

    def __init__(self) -> None:
        self._said: list[Said] = []
        self._queue: list[_Waiting] = []
        self._turn = threading.Condition()
        self._number = 0
        threading.Thread(target=self._speak, daemon=True).start()

    def hear(self, most: float = 20, quiet: float = QUIET) -> list[Said]:
        """Return what was said since this was last asked, once there has been nothing for `quiet` seconds, or after `most`."""
        ends, last, heard = time.monotonic() + most, time.monotonic(), -1
        while time.monotonic() < min(ends, last + quiet):
            with self._turn:
                if self._queue or len(self._said) != heard:
                    last, heard = time.monotonic(), len(self._said)
            time.sleep(0.02)
        with self._turn:
            told, self._said = self._said, []
        return told

    def begins(self, most: float = 60) -> bool:
        """Wait for the first word; return whether there was one."""
        with self._turn:
            return self._turn.wait_for(lambda: self._number > 0, most)

    def add(self, words: str, line: _Line) -> int:
        """Say something when all before it is said; return its number."""
        with self._turn:
            self._number += 1
            self._queue.append(_Waiting(" ".join(words.split()), line, self._number))
            self._turn.notify_all()
            return self._number

    def cut(self) -> None:
        """Stop, and forget what waits."""
        with self._turn:
            for one in self._queue:
                spoken = (time.monotonic() - one.begun) * LETTERS_A_SECOND if one.begun else 0.0
                self._said.append(Said(one.words, min(1.0, spoken / max(1, len(one.words)))))
                one.line.tell(703, one.number, "CANCELED")
            self._queue.clear()
            self._turn.notify_all()

    def _speak(self) -> None:
        with self._turn:
            while True:
                self._turn.wait_for(lambda: bool(self._queue))
                one = self._queue[0]
                one.begun = time.monotonic()
                one.line.tell(701, one.number, "BEGIN")
                if not self._turn.wait_for(lambda one=one: one not in self._queue, len(one.words) / LETTERS_A_SECOND):
                    self._queue.remove(one)
                    self._said.append(Said(one.words))
                    one.line.tell(702, one.number, "END")


class _Line:
    """A program that wants things said, by the Speech Synthesis Interface Protocol: the few commands that a screen reader sends."""

    def __init__(self, voice: Voice, line: socket.socket, number: int) -> None:
        self._voice, self._line, self._number = voice, line, number
        self._sending = threading.Lock()

    def tell(self, code: int, message: int, what: str) -> None:
        self._send(f"{code}-{message}", f"{code}-{self._number}", f"{code} {what}")

    def listen(self) -> None:
        told = (line.rstrip("\r\n") for line in self._line.makefile("r", encoding="utf-8", newline="\r\n"))
        for line in told:
            command, _, rest = line.partition(" ")
            self._answer(command.upper(), rest.upper(), told)

    def _answer(self, command: str, rest: str, told: Iterator[str]) -> None:
        if command == "SPEAK":
            self._send("230 OK RECEIVING DATA")
            body = [line.removeprefix(".") for line in iter(lambda: next(told), ".")]
            self._send(f"225-{self._voice.add(re.sub('<[^>]*>', '', ' '.join(body)), self)}", "225 OK MESSAGE QUEUED")
        elif command in ("CHAR", "KEY"):
            self._send(f"225-{self._voice.add(rest.lower(), self)}", "225 OK MESSAGE QUEUED")
        elif command == "HISTORY":
            self._send(f"245-{self._number}", "245 OK CLIENT ID SENT")
        elif command == "LIST":
            self._send("249-writing\ten\tnone", "249 OK") if "VOICES" in rest else self._send("250-writing", "250 OK")
        elif command == "GET":
            self._send("251-0", "251 OK")
        else:
            if command in ("CANCEL", "STOP"):
                self._voice.cut()
            self._send(ANSWERS.get(command, "300 ERR UNKNOWN COMMAND"))

    def _send(self, *lines: str) -> None:
        with self._sending:
            try:
                self._line.sendall("".join(f"{line}\r\n" for line in lines).encode())
            except OSError:
                return  # the program has ended


@contextmanager
def speaking(place: Path) -> Iterator[Voice]:
    """Listen at a socket of that name."""
    voice = Voice()
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(str(place))
        server.listen()

        def accept() -> None:
            number = 0
            while True:
                try:
                    line, _ = server.accept()
                except OSError:
                    return  # closed
                number += 1
                threading.Thread(target=_Line(voice, line, number).listen, daemon=True).start()

        threading.Thread(target=accept, daemon=True).start()
        yield voice
