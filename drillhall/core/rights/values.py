"""What is known of a picture's rights, what somebody may want it for, and what an answer to that looks like."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from drillhall.core.licences import Licence
from drillhall.words import Said, say


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


DATA_MINING: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "": say("nothing is said of it"),
        "DMI-ALLOWED": say("yes"),
        "DMI-PROHIBITED-GENAIMLTRAINING": say("not to make pictures of their own"),
        "DMI-PROHIBITED-AIMLTRAINING": say("no"),
        "DMI-PROHIBITED-EXCEPTSEARCHENGINEINDEXING": say("no, but search engines may list it"),
        "DMI-PROHIBITED": say("no, and nobody may mine it in any way"),
    }
)
"""Whether machines may learn from a picture: keys of the PLUS vocabulary (IPTC Photo Metadata Standard 2023.1) with our words."""


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
