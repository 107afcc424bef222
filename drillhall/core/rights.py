"""What may be done with a picture: the licences, what each allows, and the credit that it asks for.

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

from drillhall.errors import BadRights


class Purpose(StrEnum):
    """What somebody wants a picture for."""

    OWN = "own drill"
    GROUP = "drill of anybody in the hall"
    PUBLIC = "public page"
    EXPORT = "export"
    PRINT = "print"
    ALTERED = "altered rendition"
    PAID = "paid use"


@dataclass(frozen=True, slots=True)
class Licence:
    """One licence: `id` is its SPDX id (or our LicenseRef), `elements` its Creative Commons elements, `port` its country."""

    id: str
    name: str
    url: str = ""
    elements: frozenset[str] = frozenset()
    version: str = ""
    port: str = ""
    is_open: bool = True

    @property
    def allows_change(self) -> bool:
        """Whether an altered copy may be shown to others."""
        return self.is_open and "nd" not in self.elements

    @property
    def allows_private_change(self) -> bool:
        """Whether an altered copy may be made for oneself; No-Derivatives before version 4.0 forbids even that."""
        return "nd" not in self.elements or self.version == "4.0"

    @property
    def allows_pay(self) -> bool:
        """Whether it may be used where people pay."""
        return self.is_open and "nc" not in self.elements

    @property
    def asks_same(self) -> bool:
        """Whether an altered copy that is published must carry the same licence."""
        return "sa" in self.elements


CC: Final = "https://creativecommons.org/"
VERSIONS: Final = ("4.0", "3.0", "2.5", "2.1", "2.0", "1.0")
FAMILIES: Final = ("by", "by-sa", "by-nc", "by-nc-sa", "by-nd", "by-nc-nd")


def _creative_commons(family: str, version: str, port: str = "") -> Licence:
    # Version 1.0 wrote the address of by-nc-nd the other way round.
    path = "by-nd-nc" if (family, version) == ("by-nc-nd", "1.0") else family
    return Licence(
        id=f"CC-{family.upper()}-{version}",
        name=" ".join(filter(None, ("CC", family.upper(), version, port.upper()))),
        url=f"{CC}licenses/{path}/{version}/" + (f"{port}/" if port else ""),
        elements=frozenset(family.split("-")),
        version=version,
        port=port,
    )


CC0: Final = Licence("CC0-1.0", "CC0 1.0", f"{CC}publicdomain/zero/1.0/")
PUBLIC_DOMAIN_MARK: Final = Licence("CC-PDM-1.0", "Public Domain Mark 1.0", f"{CC}publicdomain/mark/1.0/")
ALL_RIGHTS_RESERVED: Final = Licence("LicenseRef-all-rights-reserved", "All rights reserved", is_open=False)
WITH_PERMISSION: Final = Licence("LicenseRef-used-with-permission", "Used with permission", is_open=False)

LICENCES: Final[Mapping[str, Licence]] = MappingProxyType(
    {
        licence.id: licence
        for licence in (
            CC0,
            PUBLIC_DOMAIN_MARK,
            *(_creative_commons(family, version) for version in VERSIONS for family in FAMILIES),
            ALL_RIGHTS_RESERVED,
            WITH_PERMISSION,
        )
    }
)
"""Every licence the hall knows, by id; ports of a version are read by `read_licence`."""

_BY_FOLDED_ID: Final = {key.casefold(): licence for key, licence in LICENCES.items()}
_FAMILY_BY_ELEMENTS: Final = {frozenset(family.split("-")): family for family in FAMILIES}
_ADDRESS: Final = re.compile(
    r"(?:https?:)?//(?:www\.)?creativecommons\.org/(?P<kind>licenses|publicdomain)/(?P<family>[a-z-]+)/(?P<version>\d\.\d)"
    r"(?:/(?!deed\b|legalcode\b)(?P<port>[a-z]{2,8}))?(?:/(?:deed|legalcode)(?:\.[a-z_-]+)?)?/?"
)
_PORTED_ID: Final = re.compile(r"cc-(?P<family>by[a-z-]*)-(?P<version>\d\.\d)-(?P<port>[a-z]{2,8})")


def read_licence(text: str) -> Licence | None:
    """Read a licence from its address or its SPDX id; None where the hall does not know it.

    Examples
    --------
    >>> read_licence("http://creativecommons.org/licenses/by-nc/4.0").id
    'CC-BY-NC-4.0'
    >>> read_licence("CC BY-SA 2.0").url
    'https://creativecommons.org/licenses/by-sa/2.0/'
    >>> read_licence("mine") is None
    True
    """
    folded = text.strip().casefold()
    found = _ADDRESS.fullmatch(folded)
    if found and found["kind"] == "publicdomain":
        return {"zero1.0": CC0, "mark1.0": PUBLIC_DOMAIN_MARK}.get(found["family"] + found["version"])
    if not found:
        folded = folded.replace(" ", "-")
        if folded in _BY_FOLDED_ID or folded == "cc0":
            return _BY_FOLDED_ID.get(folded, CC0)
        found = _PORTED_ID.fullmatch(folded)
    return _read_family(found["family"], found["version"], found["port"] or "") if found else None


def _read_family(family: str, version: str, port: str) -> Licence | None:
    known = _FAMILY_BY_ELEMENTS.get(frozenset(family.split("-")))
    if known is None or version not in VERSIONS or (port and version == "4.0"):
        return None
    return _creative_commons(known, version, port)


@dataclass(frozen=True, slots=True)
class Rights:
    """Who made a picture and what its maker allows.

    `licence` None: nothing was granted, or nobody knows. `agreed` is what the owner of the rights has agreed to, and counts only
    where no open licence says it already. `until` is the last day of a permission.
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
    if owner_id is not None and viewer_id == owner_id and purpose in (Purpose.OWN, Purpose.GROUP, Purpose.PRINT):
        return Verdict(True, "It is your own picture.")
    if owner_id is not None and viewer_id == owner_id and purpose is Purpose.ALTERED:
        return _private_change(rights)
    if purpose is Purpose.OWN:
        return Verdict(False, "Only its owner drills it as her own.")
    if viewer_id is None and purpose not in (Purpose.PUBLIC, Purpose.EXPORT):
        return Verdict(False, "Only people with an account in this hall see it.")
    if rights.until is not None and on > rights.until:
        return Verdict(False, f"The permission ended on {rights.until.isoformat()}.")
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
    """Return the rights as they came; raise BadRights where a licence stands without the creator and credit it needs."""
    if rights.licence is None:
        if rights.agreed:
            raise BadRights("Say under which licence the picture may be shown, or keep it for yourself.", field="licence")
        return rights
    for field in lacking(rights):
        asked = "who made the picture" if field == "creator" else "how its maker wants to be credited"
        raise BadRights(f"Say {asked}, or choose no licence: then only you see it.", field=field)
    return rights


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
    needed = {Purpose.PRINT: Purpose.GROUP, Purpose.EXPORT: Purpose.PUBLIC}.get(purpose, purpose)
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
    >>> short_credit(Rights("Ada Mudd", CC0, "Ada Mudd", title="Young dunlin"))
    'Photograph: Ada Mudd, CC0 1.0'
    """
    return f"{medium}: {rights.creator or 'maker not named'}, {licence_name(rights)}"
