"""What comes first for a beginner, for whoever leads a club and for a teacher: what is done and what comes next, told from the data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.store.models.people import AccountRow
from drillhall.store.queries import first_steps as reading
from drillhall.words import say

LEARNING: Final = "learning"
LEADING: Final = "leading"
TEACHING: Final = "teaching"
PATHS: Final = (TEACHING, LEADING, LEARNING)


@dataclass(frozen=True, slots=True)
class Step:
    """One step, by the word under which the page tells it; `comes_next`: the first that is not done."""

    key: str
    is_done: bool
    comes_next: bool = False


@dataclass(frozen=True, slots=True)
class Path:
    """The steps of one of the three users, and the group that they are about, empty where there is none yet."""

    key: str
    steps: tuple[Step, ...]
    group_key: str = ""
    group_title: str = ""

    @property
    def is_done(self) -> bool:
        """Whether nothing is left of it."""
        return all(step.is_done for step in self.steps)


def list_paths(db: Session, account_id: int, *, put_away: bool = False) -> tuple[Path, ...]:
    """Return the paths that somebody has neither finished nor put away; a leader's and a teacher's only to whoever is one.

    With `put_away`, those that she has put away, and not finished.
    """
    account = db.get_one(AccountRow, account_id)
    wanted = [key for key in PATHS if (key in account.put_away) is put_away]
    if not wanted:
        return ()
    did, led = reading.learner_did(db, account_id), reading.newest_led(db, account_id)
    paths = []
    if TEACHING in wanted and "class" in led:
        paths.append(_teaching(led["class"], reading.group_did(db, account_id, led["class"].id)))
    if LEADING in wanted and ("club" in led or (did.is_steward and "class" not in led)):
        club = led.get("club")
        paths.append(_leading(club, reading.group_did(db, account_id, club.id if club else None)))
    if LEARNING in wanted:
        paths.append(_learning(did))
    return tuple(path for path in paths if not path.is_done)


def put_away(db: Session, account_id: int, path: str) -> None:
    """Put a path away until it is brought back; once more changes nothing. Raises NotFound where there is no such path."""
    if path not in PATHS:
        raise NotFound(say("There is no such list of first steps."))
    account = db.get_one(AccountRow, account_id)
    if path not in account.put_away:
        account.put_away = sorted([*account.put_away, path])


def bring_back(db: Session, account_id: int) -> None:
    """Let every path that was put away be told again; where none was, this changes nothing."""
    db.get_one(AccountRow, account_id).put_away = []


def _learning(did: reading.LearnerDid) -> Path:
    begins = "take" if did.may_take or did.has_set else "bring"
    said = ((begins, did.has_set), ("answer", did.has_answered), ("come-back", did.came_back), ("hold", did.holds_one))
    return Path(LEARNING, _in_order(said))


def _leading(club: reading.LedGroup | None, did: reading.GroupDid) -> Path:
    said = (
        ("set", did.has_set),
        ("pictures", did.has_picture),
        ("club", club is not None),
        ("invite", did.has_people),
        ("assign", did.has_assignment),
        ("outing", did.has_outing),
    )
    return Path(LEADING, _in_order(said), club.public_id if club else "", club.title if club else "")


def _teaching(taught: reading.LedGroup, did: reading.GroupDid) -> Path:
    said = (
        ("class", True),
        ("roster", did.has_people),
        ("assign", did.has_assignment),
        ("weak-spots", did.has_answers),
        ("field-test", did.has_test),
    )
    return Path(TEACHING, _in_order(said), taught.public_id, taught.title)


def _in_order(said: Sequence[tuple[str, bool]]) -> tuple[Step, ...]:
    """Return the steps as they are told; the first that is not done comes next."""
    following = next((key for key, is_done in said if not is_done), "")
    return tuple(Step(key, is_done, comes_next=key == following) for key, is_done in said)
