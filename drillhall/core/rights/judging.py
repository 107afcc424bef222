"""Judges what may be done with a picture: one function that every request and every page asks, and the columns it is kept in.

Source: the licence texts of Creative Commons 1.0 to 4.0; where they leave a doubt, the careful side of it.
"""

from __future__ import annotations

from datetime import date
from typing import Final

from drillhall.core.licences import WITH_PERMISSION, Licence
from drillhall.core.rights.checking import lacking
from drillhall.core.rights.values import COVERED_BY, Purpose, Rights, RightsColumns, Verdict
from drillhall.words import Said, say

_MISSING: Final = {
    "creator": say("Its creator is not given, so only its owner sees it."),
    "credit": say("Its credit is not given, so only its owner sees it."),
}
_FOR_HERSELF: Final = frozenset({Purpose.OWN, Purpose.GROUP, Purpose.PRINT, Purpose.EXPORT})


def may(rights: Rights, *, owner_id: int | None, viewer_id: int | None, purpose: Purpose, on: date, is_reached: bool = True) -> Verdict:
    """Judge whether somebody may have a picture for a purpose on a day; `viewer_id` None is a visitor without an account.

    Parameters
    ----------
    owner_id : the account that added the picture, or None where that account is gone
    on : the day of the viewer
    is_reached : whether the picture has been shared with a group of the viewer's or stands in a catalogue; True judges the
        rights alone

    Source: the Creative Commons licence texts 1.0 to 4.0; where they leave a doubt, the careful side of it.
    """
    if rights.until is not None and on > rights.until:
        return Verdict(False, say("The permission ended on {day}: nobody is shown it any more.", day=rights.until.isoformat()))
    if owner_id is not None and viewer_id == owner_id:
        if purpose in _FOR_HERSELF:
            return Verdict(True, say("It is your own picture."))
        if purpose is Purpose.ALTERED:
            return _private_change(rights)
    if purpose is Purpose.OWN:
        return Verdict(False, say("Only its owner drills it as her own."))
    if viewer_id is None and Purpose.PUBLIC not in (purpose, COVERED_BY.get(purpose)):
        return Verdict(False, say("Only people with an account in this hall see it."))
    verdict = _to_others(rights, purpose)
    if verdict.allowed and not is_reached:
        return Verdict(False, say("It is shared with no group of yours and stands in no catalogue."))
    return verdict


def columns(rights: Rights) -> RightsColumns:
    """Return what `may` would tell any viewer but the owner, as columns that SQL can filter by."""
    return RightsColumns(
        may_group=_to_others(rights, Purpose.GROUP).allowed,
        may_public=_to_others(rights, Purpose.PUBLIC).allowed,
        may_alter=_to_others(rights, Purpose.ALTERED).allowed,
        may_paid=_to_others(rights, Purpose.PAID).allowed,
        may_until=rights.until,
    )


def _private_change(rights: Rights) -> Verdict:
    licence = rights.licence
    if licence is None:
        return Verdict(False, say("Nobody has said that it may be altered."))
    if not licence.allows_private_change:
        return Verdict(False, say("{licence} allows no altered copy, not even for yourself.", licence=licence.name))
    if licence == WITH_PERMISSION and Purpose.ALTERED not in rights.agreed:
        return Verdict(False, say("The permission says nothing of altered copies."))
    return Verdict(True, say("It is your own picture, altered for yourself."))


def _to_others(rights: Rights, purpose: Purpose) -> Verdict:
    licence = rights.licence
    if licence is None:
        return Verdict(False, say("No licence is given, so only its owner sees it."))
    if missing := lacking(rights):
        return Verdict(False, _MISSING[missing[0]])
    needed = COVERED_BY.get(purpose, purpose)
    if not licence.is_open:
        return _by_agreement(rights, licence, needed)
    if needed is Purpose.ALTERED and not licence.allows_change:
        return Verdict(False, say("{licence} allows no altered copies: it is shown whole and as it is.", licence=licence.name))
    if needed is Purpose.PAID and not licence.allows_pay:
        return Verdict(False, say("{licence} allows no use that is paid for.", licence=licence.name))
    return Verdict(True, _allowed(licence, purpose))


def _allowed(licence: Licence, purpose: Purpose) -> Said:
    """Say on what condition an open licence allows a purpose."""
    name = licence.name
    if purpose is Purpose.ALTERED and licence.shares_alike:
        return say("{licence} allows it; an altered copy goes on under the same licence.", licence=name)
    if COVERED_BY.get(purpose, purpose) is Purpose.PUBLIC and not licence.allows_pay:
        return say("{licence} allows it where nobody pays.", licence=name)
    return say("{licence} allows it with its credit.", licence=name) if licence.asks_credit else say("{licence} allows it.", licence=name)


def _by_agreement(rights: Rights, licence: Licence, needed: Purpose) -> Verdict:
    # Whoever agrees to a public page agrees to the hall; whoever agrees to altered copies alone agrees to nothing.
    widened = rights.agreed | ({Purpose.GROUP} if Purpose.PUBLIC in rights.agreed else frozenset())
    if Purpose.GROUP in widened and needed in widened:
        return Verdict(True, say("The owner of the rights has agreed to it."))
    return Verdict(False, say("{licence}: the owner of the rights has not agreed to this.", licence=licence.name))
