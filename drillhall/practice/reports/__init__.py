"""Reports of a group, one module each, every one a table; none tells more of anybody than the pages of the group do."""

from __future__ import annotations

from typing import Final, Protocol

from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.practice.reports import audience, progress, set_readiness, weak_spots
from drillhall.practice.tables import Scope, Table
from drillhall.words import say


class Report(Protocol):
    """What every report offers; `AUDIENCE` is the action of the permissions table that one must be allowed to read it."""

    @property
    def NAME(self) -> str:  # noqa: N802 - a module's constant is named like one
        """Its name in addresses and files."""

    @property
    def TITLE(self) -> str:  # noqa: N802 - a module's constant, too
        """What it is called on a page."""

    @property
    def AUDIENCE(self) -> str:  # noqa: N802 - a module's constant, too
        """The action one must be allowed."""

    def build(self, db: Session, scope: Scope) -> Table:
        """Return the report of a scope."""


REPORTS: Final[tuple[Report, ...]] = (progress, set_readiness, audience, weak_spots)


def the_report(name: str) -> Report:
    """Return the report of a name, or raise NotFound."""
    for report in REPORTS:
        if name == report.NAME:
            return report
    raise NotFound(say("There is no such report."))
