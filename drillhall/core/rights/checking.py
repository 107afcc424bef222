"""Refuses rights in which something is missing that they rest on, or that contradict themselves."""

from __future__ import annotations

import re
from datetime import date
from typing import Final

from drillhall.core.licences import PUBLIC_DOMAIN_MARK, WITH_PERMISSION
from drillhall.core.rights.values import Rights
from drillhall.errors import BadRights
from drillhall.words import say

_LACKS: Final = {
    "creator": say("Say who made the picture, or choose no licence: then only you see it."),
    "credit": say("Say how its maker wants to be credited, or choose no licence: then only you see it."),
}
_DATA_MINING_KEY: Final = re.compile(r"DMI-[A-Z]+(?:-[A-Z]+)*")  # one that a file says is carried through, whichever it is


def lacking(rights: Rights) -> tuple[str, ...]:
    """Name the fields that must be filled before anybody but the owner may see the picture."""
    given = {"creator": rights.creator.strip(), "licence": rights.licence, "credit": rights.credit.strip()}
    return tuple(field for field, value in given.items() if not value)


def check_rights(rights: Rights) -> Rights:
    """Return the rights as they came; raise BadRights where something that they rest on is missing or contradicts the rest."""
    _check_permission(rights)
    if rights.data_mining and not _DATA_MINING_KEY.fullmatch(rights.data_mining):
        raise BadRights(say("Choose from the list whether machines may learn from it."), field="data_mining")
    if rights.licence is None:
        if rights.agreed:
            raise BadRights(say("Say under which licence the picture may be shown, or keep it for yourself."), field="licence")
        return rights
    for field in lacking(rights):
        raise BadRights(_LACKS[field], field=field)
    if rights.licence == PUBLIC_DOMAIN_MARK and not (rights.evidence.strip() or rights.statement.strip()):
        raise BadRights(say("Say why nobody has rights in it any more: a mark alone is somebody's word, not a grant."), field="evidence")
    return rights


def check_entry(rights: Rights, *, on: date) -> Rights:
    """Return the rights as they came; raise BadRights also for what whoever enters them on a day can and must say.

    Stricter than `check_rights`: a catalogue's row has no place for who gave a permission, a person filling in a form does.
    """
    check_rights(rights)
    if rights.licence == PUBLIC_DOMAIN_MARK and not rights.granted_by.strip():
        raise BadRights(say("Say who says that nobody has rights in it any more."), field="granted_by")
    if rights.licence == PUBLIC_DOMAIN_MARK and not rights.evidence.strip():
        raise BadRights(say("Say why nobody has rights in it any more."), field="evidence")
    if rights.licence != WITH_PERMISSION:
        return rights
    if not rights.granted_by.strip():
        raise BadRights(say("Say who gave the permission."), field="granted_by")
    if rights.granted_on is None:
        raise BadRights(say("Say when the permission was given."), field="granted_on")
    if rights.granted_on > on:
        raise BadRights(say("The permission is dated in the future. Write the day on which it was given."), field="granted_on")
    if rights.until is not None and rights.until < on:
        raise BadRights(
            say("The permission ended on {day}. Ask for a new one, or choose another licence.", day=rights.until.isoformat()),
            field="until",
        )
    return rights


def _check_permission(rights: Rights) -> None:
    if rights.until is None:
        return
    if rights.licence != WITH_PERMISSION:
        raise BadRights(say("Only a permission ends on a day; a licence once given does not. Leave that day empty."), field="until")
    if rights.granted_on is not None and rights.until < rights.granted_on:
        raise BadRights(say("The permission ends before it was given. Mend one of the two days."), field="until")
