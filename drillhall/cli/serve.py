"""`drillhall serve`: opens the hall to browsers."""

from __future__ import annotations

import logging
import os
import signal
import socket
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click
from waitress import create_server

from drillhall.cli.draining import Draining
from drillhall.cli.opening import data_option, open_hall, the_storage
from drillhall.cli.queueing import TimedQueue
from drillhall.cli.work import start_working, the_workshop
from drillhall.config import DEFAULT_PORT, PORTS_TRIED, Settings, read_settings
from drillhall.errors import Unavailable
from drillhall.people import hall, links
from drillhall.store.session import Store
from drillhall.web.app import MOST_BYTES, make_app
from drillhall.web.faults import write_faults_to, write_refusals_to, write_requests_to
from drillhall.web.shedding import Bounds, Shed
from drillhall.web.watching import meter

if TYPE_CHECKING:
    from flask import Flask

THREADS: Final = 4
BOUNDS: Final = Bounds(most=60, seconds=4.0, few=15)
"""With more requests waiting, or after so long, the hall turns others away, since they would only wait longer still."""
MOST_CONNECTIONS: Final = 500
"""A browser holds six open, most of them idle."""
FIRST_RUN_HOURS: Final = 24


@click.command()
@data_option
@click.option(
    "--port", type=click.IntRange(1, 65535), help=f"The port. Without it: $DRILLHALL_PORT, else {DEFAULT_PORT} or the next free one."
)
@click.option("--listen", metavar="HOST", help="The address to listen on. Without it: this machine alone.")
@click.option("--demo", is_flag=True, help="Let visitors step in by link, as the demo hall does; this machine alone.")
def serve(data: Path | None, port: int | None, listen: str | None, demo: bool) -> None:
    """Open the hall to browsers, on this machine unless you say otherwise."""
    settings = read_settings(data=data, port=port, listen=listen, demo=demo)
    with open_hall(settings=settings) as (_, store):
        serve_hall(settings, store)


def serve_hall(settings: Settings, store: Store, *, lines: tuple[str, ...] = ()) -> None:
    """Serve an opened hall until it is told to stop; `lines` are printed under its address, `{address}` filled in."""
    write_faults_to(settings.log_file)
    write_requests_to(settings.requests_file)
    write_refusals_to(settings.refusals_file)
    # A request that waits its turn is no news to whoever reads the terminal: a browser asks for a dozen files at once.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    app = make_app(settings, store, the_storage(settings))
    plug = _listen(settings)
    stop = start_working(the_workshop(settings, store))
    address = settings.public_url or f"http://{_in_address(settings.listen)}:{plug.getsockname()[1]}"
    server = _server(app, settings, plug)
    draining = Draining(server)
    signal.signal(signal.SIGTERM, draining.begin)
    try:
        for line in (*_greeting(settings, store, address), *(line.replace("{address}", address) for line in lines)):
            click.echo(line)
        draining.run()
    except KeyboardInterrupt:  # before the server has begun to wait
        return
    finally:
        stop.set()
        server.trigger.close()
        server.close()


def check_port(settings: Settings) -> None:
    """Raise Unavailable where the hall could not listen, before anything dear is done."""
    _listen(settings).close()


def _listen(settings: Settings) -> socket.socket:
    """Return a socket that listens; where nobody has named a port, on the first free one."""
    wished = (settings.port,) if settings.port else tuple(range(DEFAULT_PORT, DEFAULT_PORT + PORTS_TRIED))
    for port in wished:
        try:
            family, _, _, _, address = socket.getaddrinfo(settings.listen, port, type=socket.SOCK_STREAM)[0]
            return socket.create_server((address[0], port), family=family)
        except OSError as error:
            why = os.strerror(error.errno) if error.errno and error.errno > 0 else str(error)
    ports = f"Port {wished[0]}" if len(wished) == 1 else f"Each port from {wished[0]} to {wished[-1]}"
    raise Unavailable(f"{ports} on {settings.listen} cannot be listened on ({why}). Name another one with --port or --listen.")


def _server(app: Flask, settings: Settings, plug: socket.socket) -> Any:
    queue = TimedQueue()
    queue.set_thread_count(THREADS)
    app.wsgi_app = Shed(app.wsgi_app, queue, BOUNDS, tell=meter(app).count_shed)  # type: ignore[method-assign]  # middleware is hung so
    return create_server(
        app,
        _dispatcher=queue,  # whose threads it begins no more by itself
        sockets=[plug],
        ident=None,
        # Far above what the app takes, so that the app refuses, in a sentence and on a page.
        max_request_body_size=16 * MOST_BYTES,
        # The application believes them from the named proxy alone; that they are there tells it that somebody stands before it.
        clear_untrusted_proxy_headers=False,
        connection_limit=MOST_CONNECTIONS,
        asyncore_use_poll=True,
    )


def _greeting(settings: Settings, store: Store, address: str) -> tuple[str, ...]:
    kind = (
        "SQLite in that folder"
        if store.url == read_settings({}, data=settings.data_folder).database_url
        else "the one DRILLHALL_DATABASE_URL names"
    )
    lines = [f"The hall is open at {address}", f"  data folder  {settings.data_folder}", f"  database     {kind}"]
    with store.look() as db:
        needs_keeper = not hall.has_keeper(db)
    if needs_keeper:
        with store.work() as db:
            token = links.make_link(db, links.FIRST_RUN, until=datetime.now(UTC) + timedelta(hours=FIRST_RUN_HOURS))
        lines += ["", "Begin here: make the keeper's account. The link works once, for a day:", f"  {address}/first-run/{token}"]
    if not settings.demo:
        lines += ["", "To look round a hall that has people, pairs and pictures already:  drillhall demo"]
    return (*lines, "", "Ctrl-C closes the hall.")


def _in_address(host: str) -> str:
    return f"[{host}]" if ":" in host else host
