"""The columns of the four files of a OneRoster CSV 1.2 bulk zip that are read, in the order in which the standard has them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from drillhall.words import say

MANIFEST: Final = "manifest.csv"
CLASSES: Final = "classes.csv"
USERS: Final = "users.csv"
ENROLLMENTS: Final = "enrollments.csv"

_KEPT_BY: Final = ("sourcedId", "status", "dateLastModified")

COLUMNS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        MANIFEST: ("propertyName", "value"),
        CLASSES: (
            *_KEPT_BY,
            *("title", "grades", "courseSourcedId", "classCode", "classType", "location"),
            *("schoolSourcedId", "termSourcedIds", "subjects", "subjectCodes", "periods"),
        ),
        USERS: (
            *_KEPT_BY,
            *("enabledUser", "username", "userIds", "givenName", "familyName", "middleName", "identifier", "email", "sms", "phone"),
            *("agentSourcedIds", "grades", "password", "userMasterIdentifier", "resourceSourcedIds"),
            *("preferredGivenName", "preferredMiddleName", "preferredFamilyName", "primaryOrgSourcedId", "pronouns"),
        ),
        ENROLLMENTS: (*_KEPT_BY, "classSourcedId", "schoolSourcedId", "userSourcedId", "role", "primary", "beginDate", "endDate"),
    }
)
"""Source: 1EdTech OneRoster CSV binding 1.2. A file may have more columns at its right end, each named `metadata.` something."""

ROLES: Final = ("administrator", "proctor", "student", "teacher")
"""What a role in enrollments.csv may be; capitals count."""


def head_fault(file: str, head: list[str]) -> str:
    """Return what is wrong with a file's first line, or nothing.

    >>> head_fault("manifest.csv", ["propertyName", "Value"])
    'column 2 must be value; it is Value'
    """
    for place, wanted in enumerate(COLUMNS[file]):
        if place >= len(head) or head[place] != wanted:
            if place >= len(head):
                return say("column {n} must be {wanted}; there is none", n=place + 1, wanted=wanted)
            return say("column {n} must be {wanted}; it is {found}", n=place + 1, wanted=wanted, found=head[place])
    extra = [name for name in head[len(COLUMNS[file]) :] if not name.startswith("metadata.")]
    return say("it does not know the column {name}", name=extra[0]) if extra else ""
