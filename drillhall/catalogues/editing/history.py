"""Tells the changes of a catalogue, and takes one back where nothing has touched the same fields since."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.catalogues.editing.changing import Act, Opened, change
from drillhall.catalogues.editing.fields import Fields, from_fields, is_order, to_fields
from drillhall.catalogues.editing.wording import Differing, Wording
from drillhall.catalogues.folder import FolderCatalogue
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.store.models.catalogue import CatalogueChangeRow
from drillhall.store.models.people import AccountRow
from drillhall.words import Said, joined, say

ON_A_PAGE: Final = 20
UNDONE: Final = "taken back"
MAPPED: Final = say("how concepts lie to each other")
"""What a change of the mappings is of, as it is kept too."""
KINDS: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "made": say("made", ctx="in the history"),
        "added": say("added", ctx="in the history"),
        "changed": say("changed", ctx="in the history"),
        "put in order": say("put in order", ctx="in the history"),
        "retired": say("retired", ctx="in the history"),
        UNDONE: say("taken back", ctx="in the history"),
        "brought in": say("brought in", ctx="in the history"),
        "retired as a whole": say("retired as a whole"),
        "taken back as a whole": say("taken back as a whole"),
        "steward added": say("steward added"),
        "steward removed": say("steward removed"),
    }
)
"""A kind of change, as it is kept → the words for it, which follow the name of the thing."""


@dataclass(frozen=True, slots=True)
class ToldChange:
    """One change as the history tells it: who, when, what; `by` is empty where the account is gone; whether it can be taken back."""

    id: int
    by: str
    at: datetime
    kind: str
    thing: str
    differing: tuple[Differing, ...]
    undone_at: datetime | None
    may_undo: bool

    @property
    def told(self) -> Said:
        """What was done to what, in a few words."""
        return joined(" ", [word for word in (self.thing, KINDS.get(self.kind, self.kind)) if word])


@dataclass(frozen=True, slots=True)
class History:
    """A page of a catalogue's history, the latest change first; pages count from 1."""

    changes: tuple[ToldChange, ...]
    page: int
    pages: int


def list_changes(db: Session, opened: Opened, *, page: int) -> History:
    """Return a page of a catalogue's history; raises NotFound beyond the last one."""
    count = db.scalar(select(func.count()).select_from(CatalogueChangeRow).where(CatalogueChangeRow.catalogue_id == opened.id)) or 0
    pages = max(1, -(-count // ON_A_PAGE))
    if not 1 <= page <= pages:
        raise NotFound(say("The history has no such page."))
    query = (
        select(CatalogueChangeRow, AccountRow.name)
        .outerjoin(AccountRow, AccountRow.id == CatalogueChangeRow.account_id)
        .where(CatalogueChangeRow.catalogue_id == opened.id)
        .order_by(CatalogueChangeRow.id.desc())
        .offset((page - 1) * ON_A_PAGE)
        .limit(ON_A_PAGE)
    )
    now = to_fields(opened.said)
    return History(tuple(_told(row, name or "", now) for row, name in db.execute(query)), page, pages)


def undo(db: Session, opened: Opened, change_id: int, *, by: int, at: datetime) -> None:
    """Take a change back: its fields say again what they said before.

    Raises NotFound where it is none of this catalogue's, Conflict where it was taken back already, was changed since, or where the
    catalogue as it is now could not be without it.
    """
    row = db.get(CatalogueChangeRow, change_id)
    if row is None or row.catalogue_id != opened.id:
        raise NotFound(say("There is no such change in this catalogue's history."))
    if row.undone_at is not None:
        raise Conflict(say("This change was taken back already."))
    if not _has_fields(row):
        raise Conflict(say("This change cannot be taken back from here. Make the opposite one on its own page."))
    now = to_fields(opened.said)
    touched = [path for path in {**row.before, **row.after} if not _is_as_left(path, row, now)]
    if touched:
        about = Wording(now, row.after, row.before).differing({path: now[path] for path in touched if path in now}, row.after)
        names = joined(", ", dict.fromkeys(one.about for one in about)) or say("its order")
        raise Conflict(say("This was changed again since: {names}. Take the later change back first, or write it anew.", names=names))
    back = _back(now, row.before, row.after)
    try:
        change(db, opened, lambda said: _from(back, said), Act(UNDONE, row.thing), by=by, at=at)
    except Invalid as wrong:
        raise Conflict(say("It cannot be taken back as things are now. {sentence}", sentence=wrong.sentence)) from wrong
    row.undone_at = at


def _from(fields: Fields, said: FolderCatalogue) -> FolderCatalogue:
    try:
        return from_fields(fields, said)
    except (KeyError, TypeError) as error:
        raise Invalid(say("What it belonged to is no longer there.")) from error


def _told(row: CatalogueChangeRow, by: str, now: Fields) -> ToldChange:
    words = Wording(row.after, row.before, now)
    is_open = row.undone_at is None and _has_fields(row)
    may_undo = is_open and all(_is_as_left(path, row, now) for path in {**row.before, **row.after})
    thing = words.thing(row.thing) if "/" in row.thing else MAPPED if row.thing == MAPPED else row.thing
    return ToldChange(row.id, by, row.at, row.kind, thing, words.differing(row.before, row.after), row.undone_at, may_undo)


def _has_fields(row: CatalogueChangeRow) -> bool:
    return bool(row.before or row.after)


def _is_as_left(path: str, row: CatalogueChangeRow, now: Fields) -> bool:
    """Whether a field says what the change left there; of an order, whether what is in it still stands in that order."""
    if not is_order(path) or path not in now or path not in row.after or path not in row.before:
        return path in now if path in row.after and is_order(path) else _same(path, row.after, now)
    before, after, kept = row.before[path], row.after[path], now[path]
    if set(before) != set(after):  # what came or went is judged by its own fields
        return True
    return [key for key in kept if key in after] == [key for key in after if key in kept]


def _same(path: str, after: Fields, now: Fields) -> bool:
    return (path in after) == (path in now) and after.get(path) == now.get(path)


def _back(now: Fields, before: Fields, after: Fields) -> dict[str, Any]:
    """Return the fields as they are now, with those of a change as they were before it."""
    back = {path: value for path, value in now.items() if path not in after or path in before}
    for path, value in before.items():
        both = is_order(path) and path in now and path in after
        back[path] = _order_back(now[path], value, after[path]) if both else value
    return back


def _order_back(now: list[str], before: list[str], after: list[str]) -> list[str]:
    """Return an order without what the change brought, and with what it took at its old place; what came since stays."""
    kept = [key for key in now if key in before or key not in after]
    if set(before) == set(after):
        later = [key for key in kept if key not in before]
        return [key for key in before if key in kept] + later
    for place, key in enumerate(before):
        if key not in kept:
            neighbours = [kept.index(other) for other in before[:place] if other in kept]
            kept.insert(max(neighbours) + 1 if neighbours else 0, key)
    return kept
