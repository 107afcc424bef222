"""Formats in which things leave the hall, one module each: reports (FORMATS), and records for other programs (RECORDS)."""

from __future__ import annotations

from typing import Final, Protocol

from drillhall.errors import NotFound
from drillhall.practice.exports import csv_table, json_table, qti, xapi
from drillhall.practice.tables import Table
from drillhall.words import say


class Format(Protocol):
    """What every format offers."""

    @property
    def NAME(self) -> str:  # noqa: N802 - a module's constant is named like one
        """Its name in addresses, and the ending of its files."""

    @property
    def TITLE(self) -> str:  # noqa: N802 - a module's constant, too
        """What it is called on a page."""

    @property
    def MEDIA_TYPE(self) -> str:  # noqa: N802 - a module's constant, too
        """Its media type, as it is sent."""

    def write(self, table: Table) -> bytes:
        """Return a table in this format."""


class Record(Protocol):
    """What every format of records offers beside a writer of its own: what it writes is no table."""

    @property
    def NAME(self) -> str:  # noqa: N802 - a module's constant, too
        """Its name in addresses."""

    @property
    def TITLE(self) -> str:  # noqa: N802 - a module's constant, too
        """What it is called on a page."""

    @property
    def MEDIA_TYPE(self) -> str:  # noqa: N802 - a module's constant, too
        """Its media type, as it is sent."""


FORMATS: Final[tuple[Format, ...]] = (csv_table, json_table)
RECORDS: Final[tuple[Record, ...]] = (xapi, qti)
LISTED: Final[tuple[Format | Record, ...]] = (*FORMATS, *RECORDS)


def the_format(name: str) -> Format:
    """Return the format of a name, or raise NotFound."""
    for one in FORMATS:
        if name == one.NAME:
            return one
    raise NotFound(say("There is no such format."))
