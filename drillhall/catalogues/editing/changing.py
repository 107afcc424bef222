"""Makes one change of a catalogue: read, changed, checked, written as a whole, and noted in its history."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.checking.lore import faults_of_forms, faults_of_head, faults_of_pairs, faults_of_sets, faults_of_traits
from drillhall.catalogues.checking.names import faults_of_names
from drillhall.catalogues.checking.signs import faults_of_signs
from drillhall.catalogues.checking.tongues import faults_of_tongues
from drillhall.catalogues.editing.fields import PARTS, differing, to_fields, version_of, within
from drillhall.catalogues.editing.wording import Differing, Wording
from drillhall.catalogues.folder import Fault, FolderCatalogue
from drillhall.catalogues.stewards import StewardedCatalogue, the_stewarded_catalogue
from drillhall.catalogues.writing import stored_catalogue, write_rows
from drillhall.errors import Conflict, Invalid
from drillhall.store.models.catalogue import CatalogueChangeRow, CatalogueRow
from drillhall.store.models.people import AccountRow
from drillhall.words import joined, say

Edit = Callable[[FolderCatalogue], FolderCatalogue]


@dataclass(frozen=True, slots=True)
class Opened:
    """A catalogue open before one of its stewards: which it is, and all that it says."""

    catalogue: StewardedCatalogue
    said: FolderCatalogue

    @property
    def id(self) -> int:
        """Its id in the hall."""
        return self.catalogue.id

    def version(self, scope: Sequence[str]) -> str:
        """Return a mark of what it says in a scope."""
        return version_of(to_fields(self.said), scope)


@dataclass(frozen=True, slots=True)
class Act:
    """What a change is: its kind, and the path of the thing it changes."""

    kind: str
    thing: str = ""


@dataclass(frozen=True, slots=True)
class Seen:
    """What she who changes had before her: the fields, and the mark of what they said."""

    scope: tuple[str, ...]
    version: str


class Stale(Conflict):
    """Another steward changed the same thing after it was opened: what it says now, and what was to be said instead."""

    def __init__(self, differing: tuple[Differing, ...], *, version: str, by: str, at: datetime | None) -> None:
        super().__init__(say("Another steward changed this while you had it open. Nothing of yours is lost: it stands below."))
        self.differing = differing
        self.version = version
        self.by = by
        self.at = at


def the_opened(db: Session, key: str, account_id: int, *, to_write: bool = False) -> Opened:
    """Return a catalogue in use to one of its stewards, or raise NotFound; `to_write` lets no other writer in until the work is over."""
    found = the_stewarded_catalogue(db, key, account_id)
    if to_write:
        db.execute(select(CatalogueRow.id).where(CatalogueRow.id == found.id).with_for_update())
    return Opened(found, stored_catalogue(db, found.id))


def change(db: Session, opened: Opened, edit: Edit, act: Act, *, by: int, at: datetime, seen: Seen | None = None) -> FolderCatalogue:
    """Change what a catalogue says and return what it says then; what changes nothing leaves no trace.

    Raises Invalid where the change would leave a fault, Stale where what was seen is no longer what stands there.
    """
    old = opened.said
    new = edit(old)
    before, after = differing(to_fields(old), to_fields(new))
    if not before and not after:
        return old
    if seen is not None:
        _refuse_stale(db, opened, new, seen)
    refuse_faults(old, new)
    write_rows(db, new.without_pictures(), at=at)
    note(db, opened.id, Act(act.kind, act.thing or _added(old, new)), by=by, at=at, before=before, after=after)
    return new


def refuse_faults(old: FolderCatalogue, new: FolderCatalogue) -> None:
    """Raise Invalid with the first fault of a catalogue that its older self has not."""
    known = list_faults(old)
    for fault in list_faults(new):
        if fault not in known:
            raise Invalid(joined(" ", (fault.wrong, fault.mend)), field=field_of(fault))


def list_faults(catalogue: FolderCatalogue) -> tuple[Fault, ...]:
    """Return every fault of what a catalogue says, its pictures left aside."""
    checks = (faults_of_head, faults_of_traits, faults_of_forms, faults_of_pairs, faults_of_sets, faults_of_names, faults_of_tongues)
    return (*faults_of_signs(catalogue.without_pictures()), *(fault for check in checks for fault in check(catalogue)))


def field_of(fault: Fault) -> str:
    """Return the name of the field that a fault is most likely about, or empty."""
    names = {"more than one state": "states", "colour": "colour", "key": "key", "language": "language", "third_share": "third_share"}
    return next((field for word, field in names.items() if word in fault.wrong), "")


def note(
    db: Session,
    catalogue_id: int,
    act: Act,
    *,
    by: int,
    at: datetime,
    before: dict[str, object] | None = None,
    after: dict[str, object] | None = None,
) -> None:
    """Add a change to a catalogue's history."""
    row = CatalogueChangeRow(catalogue_id=catalogue_id, account_id=by, at=at, kind=act.kind, thing=act.thing)
    row.before, row.after = before or {}, after or {}
    db.add(row)
    db.flush()


def _added(old: FolderCatalogue, new: FolderCatalogue) -> str:
    """Return the path of the one thing that is new, or empty."""
    paths = [f"{part}/{item.key}" for part in PARTS for item in getattr(new, part) if item not in getattr(old, part)]
    return paths[0] if len(paths) == 1 else ""


def _refuse_stale(db: Session, opened: Opened, new: FolderCatalogue, seen: Seen) -> None:
    fields = to_fields(opened.said)
    version = version_of(fields, seen.scope)
    if version == seen.version:
        return
    theirs, hers = differing(within(fields, seen.scope), within(to_fields(new), seen.scope))
    if not theirs and not hers:
        return
    said = Wording(fields, to_fields(new)).differing(theirs, hers)
    who, when = _latest(db, opened.id, seen.scope)
    raise Stale(said, version=version, by=who, at=when)


def _latest(db: Session, catalogue_id: int, scope: Sequence[str]) -> tuple[str, datetime | None]:
    """Return who last changed something in a scope, and when; empty where the history does not say."""
    query = (
        select(CatalogueChangeRow, AccountRow.name)
        .outerjoin(AccountRow, AccountRow.id == CatalogueChangeRow.account_id)
        .where(CatalogueChangeRow.catalogue_id == catalogue_id)
        .order_by(CatalogueChangeRow.id.desc())
        .limit(50)
    )
    for row, name in db.execute(query):
        if within({**row.before, **row.after}, scope):
            return name or "", row.at
    return "", None
