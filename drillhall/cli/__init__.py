"""Answers a terminal: reads, asks who, calls one door or act, keeps, shows; knows no rows."""

from __future__ import annotations

import sys
from typing import Any, Final

import click

from drillhall import __version__
from drillhall.cli import backup, catalogues, database, demo, doctor, people, pictures, restore, serve, work
from drillhall.errors import BadImport, Conflict, DrillhallError, Invalid, NotAllowed, NotFound, TooMany, Unavailable
from drillhall.store.disk import find_disk_fault

COMMANDS: Final[tuple[click.Command, ...]] = (
    serve.serve,
    demo.demo,
    people.people,
    pictures.pictures,
    work.work,
    database.rebuild,
    backup.backup,
    restore.restore,
    doctor.doctor,
    *catalogues.COMMANDS,
)

EXIT: Final[tuple[tuple[type[DrillhallError], int], ...]] = (
    (NotFound, 3),
    (NotAllowed, 4),
    (Invalid, 2),
    (Conflict, 5),
    (TooMany, 6),
    (Unavailable, 6),
    (DrillhallError, 1),
)
"""The one table of exit statuses; the first class that fits counts."""


class Hall(click.Group):
    """The group of all commands, which says errors of ours in one sentence."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; an error of ours, or of a full disk, ends it with its sentence and its status."""
        try:
            try:
                return super().invoke(ctx)
            except OSError as broken:
                raise (find_disk_fault(broken) or broken) from broken
        except DrillhallError as error:
            click.echo(error.sentence, err=True)
            for fault in error.faults if isinstance(error, BadImport) else ():
                click.echo(f"  {fault}", err=True)
            ctx.exit(next(status for kind, status in EXIT if isinstance(error, kind)))


@click.group(cls=Hall, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="drillhall", message="%(prog)s %(version)s")
@click.pass_context
def main(ctx: click.Context) -> None:
    """Train yourself and others to tell look-alike wild species apart.

    Without a command it opens the hall on this machine, like `drillhall serve`.
    """
    if ctx.invoked_subcommand is None:
        ctx.invoke(serve.serve)


for _command in COMMANDS:
    main.add_command(_command)

if sys.stdout is not None and hasattr(sys.stdout, "reconfigure"):
    # A terminal that cannot write a letter gets a question mark, not a crash.
    sys.stdout.reconfigure(errors="replace")
