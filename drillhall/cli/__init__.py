"""Answers a terminal: reads, asks who, calls one door or act, keeps, shows; knows no rows."""

from __future__ import annotations

import gc
import sys
from collections.abc import Mapping
from importlib import import_module
from typing import Any, Final

import click

from drillhall import __version__
from drillhall.errors import BadImport, Conflict, DrillhallError, Invalid, NotAllowed, NotFound, TooMany, Unavailable

COMMANDS: Final[Mapping[str, str]] = {
    "backup": "backup.backup",
    "check": "catalogues.check",
    "demo": "demo.demo",
    "doctor": "doctor.doctor",
    "export": "catalogues.export",
    "import": "catalogues.import_",
    "people": "people.people",
    "pictures": "pictures.pictures",
    "rebuild": "database.rebuild",
    "restore": "restore.restore",
    "rewrite": "database.rewrite",
    "secret": "secret.secret",
    "serve": "serve.serve",
    "work": "work.work",
}
"""Module and name of each command. It is loaded when it is called: what the others need would only keep it waiting."""

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
    """The group of all commands, and of those added to it, which says errors of ours in one sentence."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of all commands in order."""
        return sorted({*COMMANDS, *self.commands})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load a command and return it, or None where there is none of that name."""
        return _load(*COMMANDS[cmd_name].split(".")) if cmd_name in COMMANDS else super().get_command(ctx, cmd_name)

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; an error of ours, or of a full disk, ends it with its sentence and its status."""
        try:
            try:
                return super().invoke(ctx)
            except OSError as broken:
                from drillhall.store.disk import find_disk_fault  # here, since it brings the database's library along

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
        ctx.invoke(_load("serve", "serve"))


def _load(module: str, name: str) -> click.Command:
    """Load a command's module and what that needs.

    All of it stays, so nobody looks through it for what can go: not meanwhile, and not later. That spares a fifth of the start.
    """
    path = f"{__name__}.{module}"
    if path not in sys.modules:
        gc.disable()
        try:
            import_module(path)
        finally:
            gc.freeze()
            gc.enable()
    command: click.Command = getattr(sys.modules[path], name)
    return command


if sys.stdout is not None and hasattr(sys.stdout, "reconfigure"):
    # A terminal that cannot write a letter gets a question mark, not a crash.
    sys.stdout.reconfigure(errors="replace")
