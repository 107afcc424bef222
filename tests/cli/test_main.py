"""The group of commands: help everywhere, one sentence and one status for each error."""

from __future__ import annotations

import errno
from collections.abc import Iterator

import click
import pytest
from click.testing import CliRunner

from drillhall import __version__, cli, errors


def _commands(command: click.Command, name: str = "drillhall") -> Iterator[tuple[str, click.Command]]:
    yield name, command
    if isinstance(command, click.Group):
        context = click.Context(command)
        for below in command.list_commands(context):
            found = command.get_command(context, below)
            assert found is not None, below
            yield from _commands(found, f"{name} {below}")


EVERY = dict(_commands(cli.main))


def test_the_commands_of_the_group_are_its_table() -> None:
    assert {name.split()[1] for name in EVERY if " " in name} == {*cli.COMMANDS}
    assert all(EVERY[f"drillhall {name}"].name == name for name in cli.COMMANDS)


@pytest.mark.parametrize("name", EVERY)
def test_every_command_and_every_option_has_help(name: str) -> None:
    command = EVERY[name]
    shown = CliRunner().invoke(cli.main, [*name.split()[1:], "--help"])
    assert shown.exit_code == 0
    assert command.help
    assert command.help.splitlines()[0].endswith(".")
    assert all(option.help for option in command.params if isinstance(option, click.Option)), name


def test_the_version_is_told() -> None:
    assert CliRunner().invoke(cli.main, ["--version"]).output == f"drillhall {__version__}\n"


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (errors.NotFound("No such set."), 3),
        (errors.NotAllowed("Not yours."), 4),
        (errors.Invalid("Not a number.", field="port"), 2),
        (errors.BadImport("Two faults.", faults=("forms.toml: one", "pictures.csv, row 3: two")), 2),
        (errors.Conflict("Somebody was quicker."), 5),
        (errors.NameTaken("Taken."), 5),
        (errors.Unavailable("Busy."), 6),
        (errors.TooMany("Later.", wait_seconds=9), 6),
        (errors.DrillhallError("Something else."), 1),
    ],
)
def test_an_error_of_ours_is_one_sentence_and_its_status(error: errors.DrillhallError, status: int) -> None:
    @click.command()
    def fail() -> None:
        raise error

    group = cli.Hall(commands=[fail])
    shown = CliRunner().invoke(group, ["fail"])
    assert shown.exit_code == status
    faults = getattr(error, "faults", ())
    assert shown.stderr.splitlines() == [error.sentence, *(f"  {fault}" for fault in faults)]
    assert shown.stdout == ""


def test_a_full_disk_is_one_sentence() -> None:
    @click.command()
    def broken() -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    told = CliRunner().invoke(cli.Hall(commands=[broken]), ["broken"])
    assert told.exit_code == 6
    assert told.stderr.startswith("The hall's disk is full.")


def test_a_fault_of_the_program_is_not_dressed_up() -> None:
    @click.command()
    def fail() -> None:
        raise ZeroDivisionError

    assert isinstance(CliRunner().invoke(cli.Hall(commands=[fail]), ["fail"]).exception, ZeroDivisionError)


@pytest.mark.parametrize("words", [["fly"], ["serve", "--port", "x"], ["serve", "--port", "0"], ["people", "reset"], ["--nonsense"]])
def test_words_that_are_no_command_are_refused_with_status_2(words: list[str]) -> None:
    shown = CliRunner().invoke(cli.main, words)
    assert shown.exit_code == 2
    assert "Usage:" in shown.stderr
