"""Formats in which a report leaves the hall, one module each; what a spreadsheet would run is made harmless."""

from __future__ import annotations

from typing import Final, Protocol

from drillhall.errors import NotFound
from drillhall.practice.exports import csv_table, json_table
from drillhall.practice.tables import Table


class Format(Protocol):
    """What every format offers."""

    @property
    def NAME(self) -> str:  # noqa: N802 - a module's constant is named like one
        """Its name in addresses and commands, and the ending of its files."""

    @property
    def TITLE(self) -> str:  # noqa: N802 - a module's constant, too
        """What it is called on a page."""

    @property
    def MEDIA_TYPE(self) -> str:  # noqa: N802 - a module's constant, too
        """Its media type, as it is sent."""

    def write(self, table: Table) -> bytes:
        """Return a table in this format."""


FORMATS: Final[tuple[Format, ...]] = (csv_table, json_table)


def the_format(name: str) -> Format:
    """Return the format of a name, or raise NotFound."""
    for one in FORMATS:
        if name == one.NAME:
            return one
    raise NotFound("There is no such format.")
