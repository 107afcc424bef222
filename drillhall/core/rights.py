"""What may be done with a picture, and the credit that it asks for.

A cautious reading aid, not legal advice: local law and the text of the licence decide.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from drillhall.core.licences import PUBLIC_DOMAIN_MARK, WITH_PERMISSION, Licence
from drillhall.errors import BadRights


class Purpose(StrEnum):
    """What somebody wants a picture for."""

    OWN = "own drill"
    GROUP = "group"
    PRINT = "print"
    WALL = "wall"
    OPEN_QUESTION = "open question"
    PUBLIC = "public page"
    EXPORT = "export"
    ALTERED = "altered rendition"
    PAID = "paid group"


COVERED_BY: Final[Mapping[Purpose, Purpose]] = MappingProxyType(
    {
        Purpose.PRINT: Purpose.GROUP,
        Purpose.WALL: Purpose.GROUP,
        Purpose.OPEN_QUESTION: Purpose.PUBLIC,
        Purpose.EXPORT: Purpose.PUBLIC,
    }
)
"""A purpose → the wider one that whoever is asked agrees to with it."""

ASKED: Final = (Purpose.GROUP, Purpose.PUBLIC, Purpose.ALTERED, Purpose.PAID)
"""What the owner of the rights is asked, one by one; every other purpose follows from these."""


DATA_MINING: Final[Mapping[str, str]] = MappingProxyType(
    {
        "": "nothing is said of it",
        "DMI-ALLOWED": "yes",
        "DMI-PROHIBITED-GENAIMLTRAINING": "not to make pictures of their own",
        "DMI-PROHIBITED-AIMLTRAINING": "no",
        "DMI-PROHIBITED-EXCEPTSEARCHENGINEINDEXING": "no, but search engines may list it",
        "DMI-PROHIBITED": "no, and nobody may mine it in any way",
    }
)
"""Whether machines may learn from a picture: keys of the PLUS vocabulary (IPTC Photo Metadata Standard 2023.1) with our words."""

_DATA_MINING_KEY: Final = re.compile(r"DMI-[A-Z]+(?:-[A-Z]+)*")  # one that a file says is carried through, whichever it is


@dataclass(frozen=True, slots=True)
class Rights:
    """Who made a picture and what its maker allows.

    `licence` None: nothing was granted, or nobody knows. `agreed` is what the owner of the rights has agreed to, and counts only
    where no open licence says it already. `until` is the last day of a permission; who gave it stands in `granted_by`, when in
    `granted_on`, how one knows in `evidence`. Of a picture in the public domain, `granted_by` says so, and `evidence` says why.
    `data_mining` is a key of the PLUS vocabulary, or empty where nothing was said.
    """

    creator: str = ""
    licence: Licence | None = None
    credit: str = ""
    rights_owner: str = ""
    source: str = ""
    title: str = ""
    statement: str = ""
    agreed: frozenset[Purpose] = frozenset()
    until: date | None = None
    granted_by: str = ""
    granted_on: date | None = None
    evidence: str = ""
    data_mining: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether something may be done, and why or why not in one sentence."""

    allowed: bool
    reason: str


@dataclass(frozen=True, slots=True)
class RightsColumns:
    """What rights allow others than the owner, as columns to filter by; all hold until the day `may_until`."""

    may_group: bool
    may_public: bool
    may_alter: bool
    may_paid: bool
    may_until: date | None


def may(rights: Rights, *, owner_id: int | None, viewer_id: int | None, purpose: Purpose, on: date) -> Verdict:
    """Judge whether somebody may have a picture for a purpose on a day; `viewer_id` None is a visitor without an account.

    Parameters
    ----------
    owner_id : the account that added the picture, or None where that account is gone
    on : the day of the viewer

    Source: the Creative Commons licence texts 1.0 to 4.0; where they leave a doubt, the careful side of it.
    """
    if rights.until is not None and on > rights.until:
        return Verdict(False, f"The permission ended on {rights.until.isoformat()}.")
    if owner_id is not None and viewer_id == owner_id and purpose in (Purpose.OWN, Purpose.GROUP, Purpose.PRINT):
        return Verdict(True, "It is your own picture.")
    if owner_id is not None and viewer_id == owner_id and purpose is Purpose.ALTERED:
        return _private_change(rights)
    if purpose is Purpose.OWN:
        return Verdict(False, "Only its owner drills it as her own.")
    if viewer_id is None and Purpose.PUBLIC not in (purpose, COVERED_BY.get(purpose)):
        return Verdict(False, "Only people with an account in this hall see it.")
    return _to_others(rights, purpose)


def columns(rights: Rights) -> RightsColumns:
    """Return what `may` would tell any viewer but the owner, as columns that SQL can filter by."""
    return RightsColumns(
        may_group=_to_others(rights, Purpose.GROUP).allowed,
        may_public=_to_others(rights, Purpose.PUBLIC).allowed,
        may_alter=_to_others(rights, Purpose.ALTERED).allowed,
        may_paid=_to_others(rights, Purpose.PAID).allowed,
        may_until=rights.until,
    )


def lacking(rights: Rights) -> tuple[str, ...]:
    """Name the fields that must be filled before anybody but the owner may see the picture."""
    given = {"creator": rights.creator.strip(), "licence": rights.licence, "credit": rights.credit.strip()}
    return tuple(field for field, value in given.items() if not value)


def check_rights(rights: Rights) -> Rights:
    """Return the rights as they came; raise BadRights where something that they rest on is missing or contradicts the rest."""
    _check_permission(rights)
    if rights.data_mining and not _DATA_MINING_KEY.fullmatch(rights.data_mining):
        raise BadRights("Choose from the list whether machines may learn from it.", field="data_mining")
    if rights.licence is None:
        if rights.agreed:
            raise BadRights("Say under which licence the picture may be shown, or keep it for yourself.", field="licence")
        return rights
    for field in lacking(rights):
        asked = "who made the picture" if field == "creator" else "how its maker wants to be credited"
        raise BadRights(f"Say {asked}, or choose no licence: then only you see it.", field=field)
    if rights.licence == PUBLIC_DOMAIN_MARK and not (rights.evidence.strip() or rights.statement.strip()):
        raise BadRights("Say why nobody has rights in it any more: a mark alone is somebody's word, not a grant.", field="evidence")
    return rights


def check_entry(rights: Rights, *, on: date) -> Rights:
    """Return the rights as they came; raise BadRights also for what whoever enters them on a day can and must say.

    Stricter than `check_rights`: a catalogue's row has no place for who gave a permission, a person filling in a form does.
    """
    check_rights(rights)
    if rights.licence == PUBLIC_DOMAIN_MARK and not rights.granted_by.strip():
        raise BadRights("Say who says that nobody has rights in it any more.", field="granted_by")
    if rights.licence == PUBLIC_DOMAIN_MARK and not rights.evidence.strip():
        raise BadRights("Say why nobody has rights in it any more.", field="evidence")
    if rights.licence != WITH_PERMISSION:
        return rights
    if not rights.granted_by.strip():
        raise BadRights("Say who gave the permission.", field="granted_by")
    if rights.granted_on is None:
        raise BadRights("Say when the permission was given.", field="granted_on")
    if rights.granted_on > on:
        raise BadRights("The permission is dated in the future. Write the day on which it was given.", field="granted_on")
    if rights.until is not None and rights.until < on:
        raise BadRights(f"The permission ended on {rights.until.isoformat()}. Ask for a new one, or choose another licence.", field="until")
    return rights


def _check_permission(rights: Rights) -> None:
    if rights.until is None:
        return
    if rights.licence != WITH_PERMISSION:
        raise BadRights("Only a permission ends on a day; a licence once given does not. Leave that day empty.", field="until")
    if rights.granted_on is not None and rights.until < rights.granted_on:
        raise BadRights("The permission ends before it was given. Mend one of the two days.", field="until")


def _private_change(rights: Rights) -> Verdict:
    licence = rights.licence
    if licence is None:
        return Verdict(False, "Nobody has said that it may be altered.")
    if not licence.allows_private_change:
        return Verdict(False, f"{licence.name} allows no altered copy, not even for yourself.")
    if licence.id == WITH_PERMISSION.id and Purpose.ALTERED not in rights.agreed:
        return Verdict(False, "The permission says nothing of altered copies.")
    return Verdict(True, "It is your own picture, altered for yourself.")


def _to_others(rights: Rights, purpose: Purpose) -> Verdict:
    licence = rights.licence
    if licence is None:
        return Verdict(False, "No licence is given, so only its owner sees it.")
    if missing := lacking(rights):
        return Verdict(False, f"Its {missing[0]} is not given, so only its owner sees it.")
    needed = COVERED_BY.get(purpose, purpose)
    if not licence.is_open:
        return _by_agreement(rights, licence, needed)
    if needed is Purpose.ALTERED and not licence.allows_change:
        return Verdict(False, f"{licence.name} allows no altered copies: it is shown whole and as it is.")
    if needed is Purpose.PAID and not licence.allows_pay:
        return Verdict(False, f"{licence.name} allows no use that is paid for.")
    return Verdict(True, f"{licence.name} allows it.")


def _by_agreement(rights: Rights, licence: Licence, needed: Purpose) -> Verdict:
    # Whoever agrees to a public page agrees to the hall; whoever agrees to altered copies alone agrees to nothing.
    widened = rights.agreed | ({Purpose.GROUP} if Purpose.PUBLIC in rights.agreed else frozenset())
    if Purpose.GROUP in widened and needed in widened:
        return Verdict(True, "The owner of the rights has agreed to it.")
    return Verdict(False, f"{licence.name}: the owner of the rights has not agreed to this.")


def credit_line(rights: Rights, medium: str, *, altered: str = "") -> str:
    """Return the whole credit: title, maker, wished credit, source, licence with its address, and what was changed.

    It may give the answer away, so it is shown only afterwards. `altered` says what was done, for instance "in greys".

    Examples
    --------
    >>> from drillhall.core.licences import CC0
    >>> credit_line(Rights("Ada Mudd", CC0, "Ada Mudd", title="On the flats"), "Photograph", altered="in greys")
    'Photograph: “On the flats” by Ada Mudd, CC0 1.0 (https://creativecommons.org/publicdomain/zero/1.0/), in greys'
    """
    licence = rights.licence
    grant = licence_name(rights) if licence is None or not licence.url else f"{licence.name} ({licence.url})"
    return ", ".join(part for part in (maker_line(rights, medium), grant, altered) if part)


def maker_line(rights: Rights, medium: str) -> str:
    """Return the credit up to the licence: title, maker, wished credit and source; a page links the licence itself.

    Examples
    --------
    >>> from drillhall.core.licences import CC0
    >>> maker_line(Rights("Ada Mudd", CC0, "Ada Mudd, Shore Club"), "Photograph")
    'Photograph: Ada Mudd, Shore Club'
    """
    maker = rights.creator or "maker not named"
    wished = "" if rights.credit in ("", rights.creator) else rights.credit
    if not rights.title and maker in wished:
        maker, wished = wished, ""
    parts = (f"“{rights.title}” by {maker}" if rights.title else maker, wished, rights.source)
    return f"{medium}: " + ", ".join(part for part in parts if part)


def licence_name(rights: Rights) -> str:
    """Return the licence's name, or that none was given."""
    return "no licence given" if rights.licence is None else rights.licence.name


def short_credit(rights: Rights, medium: str = "Photograph") -> str:
    """Return maker and licence alone: what may stand beside a picture before it is answered.

    Examples
    --------
    >>> from drillhall.core.licences import CC0
    >>> short_credit(Rights("Ada Mudd", CC0, "Ada Mudd", title="Young dunlin"))
    'Photograph: Ada Mudd, CC0 1.0'
    """
    return f"{medium}: {rights.creator or 'maker not named'}, {licence_name(rights)}"
