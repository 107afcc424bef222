"""`drillhall people`: invite, list, and reset a passphrase, from the machine that keeps the hall."""

from __future__ import annotations

import click


@click.group()
def people() -> None:
    """See to the hall's people from the machine that keeps it."""
