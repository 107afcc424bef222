"""Where the hall's secret lies, in the database or in a file apart from it; how it moves there, and how another takes its place."""

from __future__ import annotations

import hmac
from typing import Final

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from drillhall.errors import Conflict, Invalid
from drillhall.people import erasing, hall
from drillhall.people.hall import KEY_OF_FORMS, MARK_OF_SECRET
from drillhall.store.models.people import SettingRow, SignInRow
from drillhall.words import say

VARIABLE: Final = "DRILLHALL_SECRET_FILE"
ANOTHER: Final = say(
    "The file that DRILLHALL_SECRET_FILE names does not hold this hall's secret. Name the right one; if it is lost, "
    "`drillhall secret renew` takes this one in its place."
)
TWO: Final = say(
    "This hall has a secret in its database, and the file that DRILLHALL_SECRET_FILE names holds another one. "
    "`drillhall secret move FILE` writes the hall's own into a file; `drillhall secret renew` takes the file's in its place."
)


def find_settled(db: Session, given: str) -> str | None:
    """Return the secret where everything lies as it should: `given`, what a file holds, or, where that is empty, the database's.

    None: something is to be written first. Raises Invalid where `given` is not this hall's, or the hall's lies in a file not named.
    """
    check(db, given)
    known = _kept(db, KEY_OF_FORMS)
    if not given:
        return known
    return given if known is None and _kept(db, MARK_OF_SECRET) is not None else None


def check(db: Session, given: str) -> None:
    """Raise Invalid, with what is to be done, where the hall cannot be opened with what a file holds (`given`), or without one."""
    known, mark = _kept(db, KEY_OF_FORMS), _kept(db, MARK_OF_SECRET)
    if not given:
        if known is None and mark is not None:
            raise Invalid(hall.IN_A_FILE, field=VARIABLE)
    elif known is not None:
        if not hmac.compare_digest(known.encode(), given.encode()):
            raise Invalid(TWO, field=VARIABLE)
    elif mark is not None and not hmac.compare_digest(mark, mark_of(given)):
        raise Invalid(ANOTHER, field=VARIABLE)


def is_in_database(db: Session) -> bool:
    """Whether the secret lies in the database, and so in every backup."""
    return _kept(db, KEY_OF_FORMS) is not None


def keep_apart(db: Session, given: str) -> str:
    """Keep of a secret that lies in a file its mark alone, and return it; raises Invalid where the hall has another.

    Where it lay in the database until now, its bytes there are to be written over.
    """
    check(db, given)
    if is_in_database(db):
        erasing.note_in_files(db)
    _put(db, MARK_OF_SECRET, mark_of(given), instead_of=KEY_OF_FORMS)
    return given


def take_out(db: Session) -> str:
    """Return the secret of the database, to be written into a file, made where the hall has none yet; Conflict if it lies in a file."""
    if not is_in_database(db) and _kept(db, MARK_OF_SECRET) is not None:
        raise Conflict(say("This hall's secret lies in a file already. Move that file, and name it in DRILLHALL_SECRET_FILE."))
    return hall.make_secret_key(db)


def renew(db: Session, given: str) -> None:
    """Put another secret in the place of the hall's: `given`, what a file holds, or, where that is empty, a new one in the database.

    It ends what was signed or derived by the old one, and every sign-in: browsers would lose theirs anyway, since cookies are named after
    the secret, but whoever has stolen one would not. Raises Conflict where `given` is the hall's already.
    """
    if given and mark_of(given) in (_kept(db, MARK_OF_SECRET), mark_of(_kept(db, KEY_OF_FORMS) or "")):
        raise Conflict(say("The file that DRILLHALL_SECRET_FILE names holds the hall's secret. Write another one into it first."))
    db.execute(delete(SignInRow))
    if given:
        _put(db, MARK_OF_SECRET, mark_of(given), instead_of=KEY_OF_FORMS)
        return
    db.execute(delete(SettingRow).where(SettingRow.key.in_((KEY_OF_FORMS, MARK_OF_SECRET))))
    hall.make_secret_key(db)


def mark_of(secret: str) -> str:
    """Return by what a secret is known again: HMAC-SHA-256 under it, of which nothing that it signs can be made."""
    return hmac.digest(secret.encode(), b"mark of the hall's secret", "sha256").hex()


def _put(db: Session, key: str, value: str, *, instead_of: str) -> None:
    db.execute(delete(SettingRow).where(SettingRow.key == instead_of))
    db.merge(SettingRow(key=key, value=value))
    db.flush()


def _kept(db: Session, key: str) -> str | None:
    found = db.scalar(select(SettingRow.value).where(SettingRow.key == key))
    return found if isinstance(found, str) else None
