"""`drillhall work`: sends what waits and runs what recurs, beside the server or in it."""

from __future__ import annotations

import logging
import secrets
from datetime import UTC, datetime
from pathlib import Path
from threading import Event, Thread
from typing import Final

import click

from drillhall.acts.run_jobs import Workshop, run_round
from drillhall.acts.settle_secret import settle_secret
from drillhall.cli.opening import data_option, open_hall, the_storage
from drillhall.config import Settings
from drillhall.errors import DrillhallError
from drillhall.store.session import Store
from drillhall.web.faults import log_fault, write_faults_to
from drillhall.web.office import office_of

EVERY_SECONDS: Final = 20.0
"""How long a worker rests after a round in which there was nothing to do."""
LOG: Final = logging.getLogger("drillhall")


@click.command()
@data_option
@click.option("--once", is_flag=True, help="Do what is due now, and end.")
def work(data: Path | None, once: bool) -> None:
    """Send the mail that waits and run what recurs, until it is told to stop.

    An open hall does so by itself. Where several processes serve one hall, any number may work beside each other.
    """
    with open_hall(data) as (settings, store):
        shop = the_workshop(settings, store)
        if settings.why_no_mail:
            click.echo(settings.why_no_mail, err=True)
        write_faults_to(settings.log_file)
        if once:
            click.echo(f"Done: {run_round(shop)}.")
            return
        click.echo("At work. Ctrl-C ends it.")
        run_until(shop, Event())


def the_workshop(settings: Settings, store: Store) -> Workshop:
    """Return what a worker of a hall works with."""
    office = office_of(settings, settle_secret(store, settings.secret))
    return Workshop(store, the_storage(settings), office, lambda: datetime.now(UTC), settings.uploads_folder)


def start_working(shop: Workshop) -> Event:
    """Work in the background of this process until the event returned is set."""
    stop = Event()
    Thread(target=run_until, args=(shop, stop), name="drillhall work", daemon=True).start()
    return stop


def run_until(shop: Workshop, stop: Event) -> None:
    """Work round after round until told to stop; what goes wrong in one is written down, and the next one goes on."""
    while not stop.is_set():
        try:
            done = run_round(shop)
        except DrillhallError as error:
            LOG.warning("work: %s", type(error).__name__)
            done = 0
        except Exception as error:  # noqa: BLE001 - an edge: a worker that died of one letter would send no other
            log_fault(secrets.token_hex(3), "work", error)
            done = 0
        if not done:
            stop.wait(EVERY_SECONDS)
