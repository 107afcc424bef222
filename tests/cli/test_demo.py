"""`drillhall demo`: filled at its first start, offered by links, on this machine alone."""

from __future__ import annotations

import re
import socket
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from drillhall.acts import demo_renditions
from drillhall.cli import demo, main
from drillhall.cli.opening import open_hall
from drillhall.config import Settings, read_settings
from drillhall.demo import scenario
from drillhall.people import accounts, links
from drillhall.store.session import Store
from tests.cast import KEEPER
from tests.demo.few import write_few_cards

FEW = (scenario.PEOPLE[0], scenario.PEOPLE[-1])


class Started:
    """Starts the demo up to the point where it would serve, and keeps what it would serve with."""

    def __init__(self, home: Path) -> None:
        self.home = home
        self.settings: list[Settings] = []
        self.lines: tuple[str, ...] = ()
        self.left: list[str] = []

    def serve(self, settings: Settings, store: Store, *, lines: tuple[str, ...] = ()) -> None:
        """Stand in for serving: every link printed is tried at once."""
        self.settings.append(settings)
        self.lines = lines
        with store.look() as db:
            for token in self.tokens:
                account_id = links.the_link_account(db, links.STEP_IN, token, at=datetime.now(UTC))
                self.left.append(accounts.the_person_of(db, account_id or 0).name)

    @property
    def tokens(self) -> list[str]:
        return re.findall(r"\{address\}/step-in/(\S+)", "\n".join(self.lines))

    def __call__(self, *words: str, **env: str) -> Result:
        return CliRunner().invoke(main, ["demo", *words], env={"HOME": str(self.home), "DRILLHALL_DATA": "", **env})


@pytest.fixture(scope="module")
def cards(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_few_cards(tmp_path_factory.mktemp("cards"))


@pytest.fixture
def start(tmp_path: Path, cards: Path, monkeypatch: pytest.MonkeyPatch) -> Started:
    started = Started(tmp_path)
    for name in ("DRILLHALL_DATABASE_URL", "DRILLHALL_PUBLIC_URL", "DRILLHALL_LISTEN", "XDG_DATA_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(scenario, "PEOPLE", FEW)
    monkeypatch.setattr(demo_renditions, "FORMS", 1)
    monkeypatch.setattr(demo, "serve_hall", started.serve)
    monkeypatch.setattr(demo, "asset_folder", lambda name: {"demo_cards": cards}[name])
    return started


def test_a_port_that_is_taken_is_told_before_the_hall_is_made(start: Started, tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        told = start("--port", str(taken.getsockname()[1]))
    assert (told.exit_code, "cannot be listened on" in told.stderr) == (6, True)
    assert (start.settings, list(tmp_path.rglob("*.sqlite"))) == ([], [])


def test_the_first_start_fills_a_folder_of_its_own_and_the_next_only_prints_new_links(start: Started) -> None:
    first = start()
    assert first.exit_code == 0, first.output
    assert "made for the first time" in first.stderr
    assert "new hall" not in first.stderr
    assert "brought up to date" not in first.stderr
    assert start.left == [person.name for person in FEW]
    once = start.tokens
    again = start()
    assert again.exit_code == 0
    assert "first time" not in again.stderr
    assert start.left == [person.name for person in FEW] * 2
    assert set(once).isdisjoint(start.tokens)
    assert all(one.demo and one.is_local and one.data_folder.name == "drillhall-demo" for one in start.settings)


def test_links_stand_beside_who_it_is_and_another_folder_may_be_named(start: Started, tmp_path: Path) -> None:
    assert start("--data", str(tmp_path / "elsewhere")).exit_code == 0
    assert start.settings[0].data_folder == tmp_path / "elsewhere"
    printed = "\n".join(start.lines)
    for person in FEW:
        assert f"{person.name}, {person.part}: {person.says}" in printed
    assert (tmp_path / "elsewhere" / "hall.sqlite").exists()


@pytest.mark.parametrize(
    ("words", "env", "told"),
    [
        (("--listen", "0.0.0.0"), {}, "No such option"),
        ((), {"DRILLHALL_LISTEN": "0.0.0.0"}, "this machine alone"),
        ((), {"DRILLHALL_PUBLIC_URL": "https://hall.example"}, "this machine alone"),
        (("--port", "0"), {}, "Invalid value"),
    ],
)
def test_it_is_open_to_nobody_else(start: Started, words: tuple[str, ...], env: dict[str, Any], told: str) -> None:
    refused = start(*words, **env)
    assert refused.exit_code == 2
    assert told in refused.output
    assert start.settings == []
    assert not (start.home / ".local").exists()


def test_a_start_broken_off_begins_anew(start: Started, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:

        def break_off(what: str, done: int, total: int) -> None:
            if what.startswith("Playing"):
                raise KeyboardInterrupt

        patch.setattr(demo, "_tell", break_off)
        assert start().exit_code == 1
    assert start.settings == []
    assert "made for the first time" in start().stderr
    assert start.left == [person.name for person in FEW]


def test_a_hall_of_somebodys_own_is_not_opened_as_the_demo(start: Started, tmp_path: Path) -> None:
    settings = read_settings({}, data=tmp_path / "own")
    with open_hall(settings=settings) as (_, store), store.work() as db:
        accounts.make_account(db, name=KEEPER.name, passphrase=KEEPER.passphrase, at=datetime.now(UTC), is_keeper=True)
    refused = start("--data", str(tmp_path / "own"))
    assert refused.exit_code == 5
    assert "not the demo" in refused.output
    assert start.settings == []


def test_drawing_into_a_folder_with_pictures_is_refused(start: Started, tmp_path: Path) -> None:
    (tmp_path / "full" / "pictures").mkdir(parents=True)
    refused = start("paint", str(tmp_path / "full"))
    assert refused.exit_code == 2
    assert "holds pictures already" in refused.output


def test_drawing_says_how_many_there_are(start: Started, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drillhall.acts.open_demo.write_set", lambda folder, progress: 651)
    drawn = start("paint", str(tmp_path / "new"))
    assert (drawn.exit_code, drawn.stdout) == (0, f"651 drawings are in {tmp_path / 'new'}\n")
