"""What a new list of a class would change, worked out before anything is written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.people.group import MEMBER, Group
from drillhall.people.names import fold_name
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.rosters import RosterPlaceRow


@dataclass(frozen=True, slots=True)
class OnList:
    """Somebody whom the list concerns.

    account_id: 0 where an account is to be made; name: what she is called here; listed: her name on the list, empty where she is not on it;
    code: the school's own for her; has_place: she was on the list before; is_head: she leads the class.
    """

    account_id: int
    name: str
    listed: str = ""
    code: str = ""
    has_place: bool = True
    is_head: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """What a list would do: who is new, comes back, stays, goes to rest, cannot come back; `beside`: in the class, never on a list."""

    new: tuple[OnList, ...]
    back: tuple[OnList, ...]
    stay: tuple[OnList, ...]
    rest: tuple[OnList, ...]
    closed: tuple[OnList, ...]
    beside: tuple[OnList, ...]

    @property
    def is_nothing(self) -> bool:
        """Whether nobody comes or goes."""
        return not (self.new or self.back or self.rest)

    @property
    def mark(self) -> str:
        """What stands for this plan, so that no other one is carried out than the one that was shown."""
        return sha256(repr(self).encode()).hexdigest()[:32]


@dataclass(frozen=True, slots=True)
class Placed:
    """Somebody who is or was in a class; `role` is empty where she is not in it now, `place` None where she was never on its list."""

    account: AccountRow
    place: RosterPlaceRow | None
    role: str

    @property
    def on_list(self) -> OnList:
        """Return her as a plan tells of her."""
        code = self.place.code if self.place else ""
        return OnList(self.account.id, self.account.name, "", code, self.place is not None, self.role not in ("", MEMBER))


def placed(db: Session, group: Group) -> tuple[Placed, ...]:
    """Return who is in a class or has a place on its list, by name."""
    running = select(MembershipRow.account_id, MembershipRow.role).where(MembershipRow.group_id == group.id, MembershipRow.until.is_(None))
    member = running.subquery()
    place = (RosterPlaceRow.account_id == AccountRow.id) & (RosterPlaceRow.group_id == group.id)
    query = (
        select(AccountRow, RosterPlaceRow, member.c.role)
        .outerjoin(RosterPlaceRow, place)
        .outerjoin(member, member.c.account_id == AccountRow.id)
        .where(RosterPlaceRow.account_id.is_not(None) | member.c.account_id.is_not(None))
        .order_by(AccountRow.name_folded)
    )
    return tuple(Placed(account, on, role or "") for account, on, role in db.execute(query))


def make_plan(db: Session, group: Group, entries: Sequence[tuple[str, str]], *, adds_only: bool) -> Plan:
    """Return what a list of names and codes would do; with `adds_only` nobody goes to rest."""
    known = placed(db, group)
    taken: set[int] = set()
    found: list[tuple[Placed, OnList]] = []
    new: list[tuple[str, str]] = []
    for name, code in entries:
        one = _find(known, name, code, taken)
        if one is None:
            new.append((name, code))
        else:
            taken.add(one.account.id)
            has_place, is_head = one.place is not None, one.on_list.is_head
            found.append((one, OnList(one.account.id, one.account.name, name, code, has_place, is_head)))
    left = [one for one in known if one.account.id not in taken and one.account.retired_at is None]
    return Plan(
        new=tuple(_named(db, new)),
        back=tuple(told for one, told in found if not one.role and one.account.retired_at is None),
        stay=tuple(told for one, told in found if one.role and one.account.retired_at is None),
        rest=() if adds_only else tuple(one.on_list for one in left if one.place is not None and one.role == MEMBER),
        closed=tuple(told for one, told in found if one.account.retired_at is not None),
        beside=tuple(one.on_list for one in left if one.place is None and one.role == MEMBER),
    )


def _find(known: Iterable[Placed], name: str, code: str, taken: set[int]) -> Placed | None:
    """Return whom a line means: by code; else by name on the last list, or in the class, where no other code speaks against it."""
    folded = fold_name(name)
    free = [one for one in known if one.account.id not in taken]
    if code and (by_code := next((one for one in free if one.place is not None and one.place.code == code), None)):
        return by_code
    listed = (one for one in free if one.place is not None and one.place.listed_as == folded and not (code and one.place.code))
    by_name = (one for one in free if one.place is None and one.account.name_folded == folded)
    return next(listed, None) or next(by_name, None)


def _named(db: Session, new: Sequence[tuple[str, str]]) -> list[OnList]:
    """Return those for whom an account is to be made, each with a name that nobody has: where it is taken, a number is put behind it."""
    names = {place: name for place, (name, _) in enumerate(new)}
    given: dict[int, str] = {}
    used: set[str] = set()
    number = 1
    while names:
        tries = {place: name if number == 1 else f"{name} {number}" for place, name in names.items()}
        theirs = set(
            db.scalars(select(AccountRow.name_folded).where(AccountRow.name_folded.in_({fold_name(one) for one in tries.values()})))
        )
        for place, one in tries.items():
            if fold_name(one) not in theirs | used:
                used.add(fold_name(one))
                given[place] = one
                del names[place]
        number += 1
    return [OnList(0, given[place], name, code, has_place=False) for place, (name, code) in enumerate(new)]


def by_account(all_placed: Iterable[Placed]) -> Mapping[int, Placed]:
    """Return people by their account."""
    return {one.account.id: one for one in all_placed}
