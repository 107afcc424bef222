"""The people of every test: one learns, one leads, one teaches, one is a stranger; and the keeper, who is there before them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Someone:
    """A person as a test needs her: what she signs in with, and where she lives."""

    name: str
    passphrase: str
    zone: str


LEARNER = Someone("Oda Querfurth", "seven wet boots by the sluice", "Europe/Lisbon")
LEADER = Someone("Halvard Minniken", "the ferry leaves when the mud is bare", "Europe/Oslo")
TEACHER = Someone("Teodora Vasch", "chalk dust on a green windowsill", "Europe/Bucharest")
STRANGER = Someone("Pell Ammerby", "nobody asked the heron for change", "America/St_Johns")
KEEPER = Someone("Runa Ostrander", "a lantern hangs below the stairs", "Pacific/Auckland")

FOUR = (LEARNER, LEADER, TEACHER, STRANGER)
EVERYBODY = (*FOUR, KEEPER)
