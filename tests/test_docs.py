"""The documents keep up with the program: every command is told, and each of the two promises is one command."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from configparser import RawConfigParser
from contextlib import closing
from pathlib import Path

import click
import pytest
from flask import request
from PIL import Image

from drillhall.catalogues.checking import check
from drillhall.catalogues.reading import read_folder
from drillhall.cli import main
from drillhall.config import read_settings
from drillhall.pictures.storage import FolderStorage
from drillhall.store.session import Store
from drillhall.web.app import make_app

TOP = Path(__file__).resolve().parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")


def section(text: str, title: str) -> str:
    """Return what stands under a heading, up to the next one of its rank."""
    found = re.search(rf"^## {re.escape(title)}\n(?P<inside>.*?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
    assert found, f"there is no heading {title}"
    return found["inside"]


def fenced(text: str) -> list[str]:
    """Return what stands between fences."""
    return re.findall(r"^```\w*\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def commands(group: click.Group, name: str = "drillhall") -> Iterator[tuple[str, click.Command]]:
    """Yield every command by what one types, groups before what is in them."""
    context = click.Context(group)
    for word in group.list_commands(context):
        command = group.get_command(context, word)
        assert command is not None
        yield f"{name} {word}", command
        if isinstance(command, click.Group):
            yield from commands(command, f"{name} {word}")


COMMANDS = dict(commands(main))


@pytest.mark.parametrize("title", ["Run it", "Test it"])
def test_each_promise_is_one_command(title: str) -> None:
    (block,) = fenced(section(README, title))
    assert len(block.strip().splitlines()) == 1
    assert block.startswith("python3 -m venv .venv && ")


def test_the_job_comes_first_then_how_to_run_and_to_test_it() -> None:
    opening, *rest = README.split("\n## ")
    assert [part.splitlines()[0] for part in rest[:2]] == ["Run it", "Test it"]
    assert len([part for part in opening.split("\n\n") if not part.startswith("#")]) == 1


def test_ci_runs_what_the_readme_promises() -> None:
    script = (TOP / ".ci/run").read_text(encoding="utf-8")
    assert "## Test it" in script
    assert "pytest" not in script


@pytest.mark.parametrize("typed", COMMANDS)
def test_every_command_has_help(typed: str) -> None:
    command = COMMANDS[typed]
    assert (command.help or "").strip().endswith((".", "?")), "one sentence of help"
    silent = [option.name for option in command.params if isinstance(option, click.Option) and not option.help]
    assert silent == []


@pytest.mark.parametrize("typed", [typed for typed in COMMANDS if typed.count(" ") == 1])
def test_every_command_is_in_the_readme(typed: str) -> None:
    assert re.search(rf"`{typed}[ `]", section(README, "Commands"))


def test_the_readme_tells_no_command_that_is_not_there() -> None:
    told = set(re.findall(r"`(drillhall [a-z]+)", README))
    assert told - set(COMMANDS) == set()


@pytest.mark.parametrize(
    "path", re.findall(r"`((?:tests|drillhall|core|store|people|web|cli|static|templates)/[a-z_/]+\.(?:py|css))`", DEVELOPERS)
)
def test_what_developers_are_sent_to_is_there(path: str) -> None:
    assert any((TOP / start / path).exists() for start in ("", "drillhall"))


def test_the_environment_that_the_program_reads_is_told() -> None:
    config = "".join(path.read_text(encoding="utf-8") for path in (TOP / "drillhall/config").glob("*.py"))
    read = set(re.findall(r"DRILLHALL_[A-Z_]+", config))
    assert len(read) > 8
    assert read - set(re.findall(r"DRILLHALL_[A-Z_]+", README)) == set()


def test_the_catalogue_in_the_readme_can_be_imported(tmp_path: Path) -> None:
    _tree, catalogue, sets, pictures = fenced(section(README, "Bring your own pictures"))
    for name, text in (("catalogue.toml", catalogue), ("pair-sets.toml", sets), ("pictures.csv", pictures)):
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "pictures").mkdir()
    for name in re.findall(r"^(\S+?\.jpg),", pictures, re.MULTILINE):
        Image.linear_gradient("L").resize((640, 480)).convert("RGB").rotate(90 * len(name)).save(tmp_path / "pictures" / name)
    with closing(read_folder(tmp_path)) as folder:
        assert [fault.line for fault in check(folder).faults] == []


def test_every_requirement_names_a_test_that_is_there() -> None:
    listed = (TOP / ".readme/asvs.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(test_\w+)`", listed))
    there = {
        name
        for file in (TOP / "tests").rglob("test_*.py")
        for name in re.findall(r"^def (test_\w+)\(", file.read_text(encoding="utf-8"), re.M)
    }
    assert len(named) > 100
    assert named - there == set()
    rows = [line.split("|")[1:-1] for line in listed.splitlines() if re.match(r"\| \d", line)]
    assert [row[0] for row in rows if len(row) != 3 or not (row[2].strip() or "met" in row[1])] == []
    told = section(DEVELOPERS, "Lets nobody in")
    lacking = {row[0].split(",")[0].strip() for row in rows if re.search("not met|met in part", row[1], re.I)}
    assert "`.readme/asvs.md`" in told
    assert len(lacking) > 5
    assert {number for number in lacking if f"({number})" not in told} == set()


def test_the_proxy_in_the_readme_is_believed(sqlite_store: Store, tmp_path: Path) -> None:
    text = section(README, "Open it to others")
    (started,) = re.findall(r"`((?:DRILLHALL_\w+=\S+ )+)\S*drillhall serve`", text)
    app = make_app(
        read_settings(dict(word.split("=", 1) for word in started.split()), data=tmp_path), sqlite_store, FolderStorage(tmp_path)
    )
    seen = []
    app.view_functions["account.csrf"] = lambda: seen.append((request.scheme, request.host, request.remote_addr)) or ""
    # What nginx puts in for its variables: https://nginx.org/en/docs/http/ngx_http_core_module.html#variables
    meant = {"$host": "hall.example", "$remote_addr": "192.0.2.7"}
    headers = {name: meant.get(value, value) for name, value in re.findall(r"proxy_set_header (\S+) (\S+);", text)}
    app.test_client().get("/csrf", headers=headers, environ_overrides={"REMOTE_ADDR": "127.0.0.1"})
    assert seen == [("https", "hall.example", "192.0.2.7")]


def test_the_service_unit_and_the_container_start_what_is_there() -> None:
    unit = RawConfigParser(strict=False)
    unit.optionxform = str  # type: ignore[assignment, method-assign]  # directives are written as they are read
    unit.read(TOP / ".run/drillhall.service", encoding="utf-8")
    program, *words = unit["Service"]["ExecStart"].split()
    assert program.endswith("/.venv/bin/drillhall")
    with COMMANDS["drillhall serve"].make_context("serve", words[1:]) as context:
        assert (words[0], context.params["data"]) == ("serve", Path("/var/lib") / unit["Service"]["StateDirectory"])
    container = (TOP / ".run/Containerfile").read_text(encoding="utf-8")
    set_there = dict(word.split("=", 1) for word in re.findall(r"DRILLHALL_\w+=\S+", re.sub(r"(?m)^#.*$", "", container)))
    settings = read_settings(set_there | {"DRILLHALL_PUBLIC_URL": "https://hall.example"})
    assert f"localhost:{settings.port}/health" in container
    assert str(settings.data_folder) in re.findall(r"^VOLUME (\S+)$", container, re.M)
    started = re.findall(r'^CMD \["drillhall", "(\w+)"\]$', container, re.M)
    assert [f"drillhall {word}" in COMMANDS for word in started] == [True]
    assert re.findall(r"ENV PATH=(\S+)/bin:\$PATH", container) == re.findall(r"^COPY --from=made (\S+)", container, re.M)
    known = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]["optional-dependencies"]
    assert set(re.findall(r"^ARG EXTRAS=(\S+)$", container, re.M)[0].split(",")) <= known.keys()
    told = re.findall(r"(?:/|hall |'|&& )drillhall ([a-z]+)", container + (TOP / ".run/drillhall.service").read_text(encoding="utf-8"))
    assert {"backup", "doctor", "restore", "serve"} <= set(told)
    assert [word for word in told if f"drillhall {word}" not in COMMANDS] == []
