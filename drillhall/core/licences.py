"""The licences that a picture may come under, and how each is read from its address or its SPDX id."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from drillhall.words import say


@dataclass(frozen=True, slots=True)
class Licence:
    """One licence: `id` is its SPDX id, or a LicenseRef; `elements` are those of Creative Commons, `port` is its country."""

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
    def shares_alike(self) -> bool:
        """Whether an altered copy must go on under the same licence."""
        return "sa" in self.elements

    @property
    def asks_credit(self) -> bool:
        """Whether its maker must be named; what is free of rights is credited all the same, out of courtesy."""
        return "by" in self.elements


CC: Final = "https://creativecommons.org/"
VERSIONS: Final = ("4.0", "3.0", "2.5", "2.0", "1.0")
PORTED_VERSIONS: Final = ("3.0", "2.5", "2.1", "2.0", "1.0")
"""Versions with national texts; 2.1 has no other."""
FAMILIES: Final = ("by", "by-sa", "by-nc", "by-nc-sa", "by-nd", "by-nc-nd")

_COUNTRIES: Final = (
    "am ar at au az be bg br ca ch cl cn co cr cz de dk ec ee eg es fi fr ge gr gt hk hr hu ie igo il in it jp kr lu mk mt mx my "
    "nl no nz pe ph pl pt pr ro rs scotland se sg si th tw ug uk us ve vn za"
)
PORTS: Final = frozenset(_COUNTRIES.split())
"""Where national texts were written for, by the word in their addresses. Source: from memory; the register of them is not at hand."""

_PORTS_WITH_ID: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        "by": frozenset({"2.5-AU", "3.0-AT", "3.0-AU", "3.0-DE", "3.0-IGO", "3.0-NL", "3.0-US"}),
        "by-sa": frozenset({"2.0-UK", "2.1-JP", "3.0-AT", "3.0-DE", "3.0-IGO"}),
        "by-nc": frozenset({"3.0-DE"}),
        "by-nc-sa": frozenset({"2.0-DE", "2.0-FR", "2.0-UK", "3.0-DE", "3.0-IGO"}),
        "by-nd": frozenset({"3.0-DE"}),
        "by-nc-nd": frozenset({"3.0-DE", "3.0-IGO"}),
    }
)
"""The national texts that SPDX lists; the others go by the id of their version, and by their own address."""


def _creative_commons(family: str, version: str, port: str = "") -> Licence:
    # Version 1.0 wrote the address of by-nc-nd the other way round.
    path = "by-nd-nc" if (family, version) == ("by-nc-nd", "1.0") else family
    return Licence(
        id=_spdx_id(family, version, port),
        name=" ".join(filter(None, ("CC", family.upper(), version, port.upper()))),
        url=f"{CC}licenses/{path}/{version}/" + (f"{port}/" if port else ""),
        elements=frozenset(family.split("-")),
        version=version,
        port=port,
    )


def _spdx_id(family: str, version: str, port: str) -> str:
    unported, ported = f"CC-{family.upper()}-{version}", f"{version}-{port.upper()}"
    if ported in _PORTS_WITH_ID[family]:
        return f"{unported}-{port.upper()}"
    return unported if version in VERSIONS else f"LicenseRef-{unported}-{port.upper()}"


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
    r"(?:/(?!deed\b|legalcode\b)(?P<port>[a-z]{2}|igo|scotland))?(?:/(?:deed|legalcode)(?:\.[a-z_-]+)?)?/?"
)
_PORTED_ID: Final = re.compile(r"cc-(?P<family>by[a-z-]*)-(?P<version>\d\.\d)-(?P<port>[a-z]{2}|igo|scotland)")


HOW_TO_WRITE_ONE: Final = say(
    "Write its address or SPDX id, such as CC-BY-4.0 or CC0-1.0; {own} for what is yours alone,"
    " {permitted} for what somebody lets you use; or leave it empty to keep the picture private.",
    own=ALL_RIGHTS_RESERVED.id,
    permitted=WITH_PERMISSION.id,
)


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
    if known is None or version not in (PORTED_VERSIONS if port else VERSIONS) or (port and port not in PORTS):
        return None
    return _creative_commons(known, version, port)
