"""What a group is to somebody in it, as everything above the store knows it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from drillhall.words import Said, say

MEMBER = "member"
LEADER = "leader"
TEACHER = "teacher"
HEADS = frozenset({LEADER, TEACHER})
"""The roles that lead: a club has leaders, a class has teachers."""
ROLE_WORDS: Final = {MEMBER: say("member"), LEADER: say("leader"), TEACHER: say("teacher")}
ROLE_SENTENCES: Final = {MEMBER: say("You are a member."), LEADER: say("You lead it."), TEACHER: say("You teach it.")}
KIND_WORDS: Final = {"club": say("club"), "class": say("class")}


@dataclass(frozen=True, slots=True)
class Group:
    """A group and the role in it of whoever asks; `is_paid`: its members pay for it."""

    id: int
    public_id: str
    title: str
    kind: str
    is_paid: bool
    retired_at: datetime | None
    role: str

    @property
    def is_led(self) -> bool:
        """Whether whoever asks leads it."""
        return self.role in HEADS

    @property
    def kind_word(self) -> Said:
        """What kind of group it is, for a page."""
        return KIND_WORDS[self.kind]

    @property
    def role_sentence(self) -> Said:
        """What whoever asks is in it, for a page."""
        return ROLE_SENTENCES[self.role]

    @property
    def head_word(self) -> Said:
        """What one is called who leads it, for a page."""
        return ROLE_WORDS[self.head]

    @property
    def head(self) -> str:
        """What one is called who leads it: leader of a club, teacher of a class."""
        return head_of(self.kind)


def head_of(kind: str) -> str:
    """Return the role of whoever leads a group of a kind."""
    return TEACHER if kind == "class" else LEADER
