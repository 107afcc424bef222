"""The hall's secret at the start of a program: from its file where one is named, else from the database, else made."""

from __future__ import annotations

from drillhall.errors import Conflict
from drillhall.people import hall, secret
from drillhall.store.session import Store


def settle_secret(store: Store, given: str = "") -> str:
    """Return the hall's secret, which every session of the store carries from then on; `given` is what a file holds, or empty.

    Raises Invalid where that is not this hall's secret, or where the hall's lies in a file and none was named.
    """
    try:
        known = _settle(store, given)
    except Conflict:  # another process of the same hall was quicker; what it has kept is the hall's
        known = _settle(store, given)
    store.carry(known)
    return known


def _settle(store: Store, given: str) -> str:
    with store.look() as db:
        known = secret.find_settled(db, given)
    if known is not None:
        return known
    with store.work() as db:
        return secret.keep_apart(db, given) if given else hall.make_secret_key(db)
