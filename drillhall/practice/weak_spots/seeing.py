"""Of whom something is told to whom: by name, in a sum, or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.store.models.groups import GroupRow
from drillhall.store.queries import teacher as reading
from drillhall.words import say

TEACHER = "teacher"
LEADER = "leader"


@dataclass(frozen=True, slots=True)
class Pupil:
    """Somebody who learns in a group; `id` names her membership."""

    id: int
    account_id: int
    name: str
    since: datetime


@dataclass(frozen=True, slots=True)
class Seen:
    """The learners of a group as somebody may see them: some by name, the others in sums alone.

    veiled: the accounts of those others whom nobody sees by name. A sum is told of none of them or of five, whoever asks: else it would
    tell of few to whoever leads the group, who may take those away whom she sees by name.
    """

    named: tuple[Pupil, ...]
    others: tuple[Pupil, ...]
    veiled: frozenset[int] = frozenset()


def who_is_seen(db: Session, group_id: int, role: str) -> Seen:
    """Return the learners of a group as somebody in a role sees them.

    A teacher sees the class by name, a leader those who agreed, and whoever learns herself sees sums alone.
    """
    named: list[Pupil] = []
    others: list[Pupil] = []
    veiled = set()
    head = head_role(db.get_one(GroupRow, group_id).kind)
    for row in reading.learners_of(db, group_id):
        is_named = _sees(role, row)
        (named if is_named else others).append(Pupil(row.id, row.account_id, row.name, row.since))
        if not _sees(head, row):
            veiled.add(row.account_id)
    return Seen(tuple(named), tuple(others), frozenset(veiled))


def _sees(role: str, row: reading.LearnerOf) -> bool:
    return role == TEACHER or (role == LEADER and row.lets_leader_see)


def the_pupil(db: Session, group_id: int, role: str, membership_id: int) -> Pupil:
    """Return somebody who learns in a group, where one in that role may see her by name; else raise NotFound, as if she were not there."""
    for one in who_is_seen(db, group_id, role).named:
        if one.id == membership_id:
            return one
    raise NotFound(say("There is no such learner of this group, or she has not let you see hers."))


def the_own(db: Session, group_id: int, account_id: int) -> Pupil:
    """Return whoever asks, who learns in a group, or raise NotFound."""
    for row in reading.learners_of(db, group_id):
        if row.account_id == account_id:
            return Pupil(row.id, row.account_id, row.name, row.since)
    raise NotFound(say("You do not learn in this group."))


def who_sees(db: Session, group_id: int, kind: str, pupil: Pupil) -> str:
    """Return how one learner is seen by whoever leads the group: "by name", or "in sum"."""
    return "by name" if pupil in who_is_seen(db, group_id, head_role(kind)).named else "in sum"


def head_role(kind: str) -> str:
    """Return the role of whoever leads a group of a kind."""
    return TEACHER if kind == "class" else LEADER
