"""`drillhall people`, on the machine that keeps the hall."""

from __future__ import annotations

import zipfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from sqlalchemy import update

from drillhall.acts.export_person import export_person
from drillhall.acts.settle_secret import settle_secret
from drillhall.cli import main
from drillhall.config import read_settings
from drillhall.errors import Invalid
from drillhall.people import accounts, erasing, invitations, marks, second_step
from drillhall.store.models.people import SecondStepRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEARNER, Someone

HALL = Path("hall")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Runs:
    monkeypatch.delenv("DRILLHALL_DATABASE_URL", raising=False)
    monkeypatch.delenv("DRILLHALL_PUBLIC_URL", raising=False)
    return Runs(tmp_path / "hall")


class Runs:
    """Runs commands on one hall."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __call__(self, *words: str) -> Result:
        return CliRunner().invoke(main, [*words, "--data", str(self.folder)])

    def store(self) -> Store:
        return Store(read_settings({}, data=self.folder).database_url)

    def add(self, someone: Someone, *, is_keeper: bool = False) -> None:
        store = self.store()
        with store.work() as db:
            at = datetime.now(UTC)
            accounts.make_account(db, name=someone.name, passphrase=someone.passphrase, at=at, is_keeper=is_keeper)
        store.close()


def test_a_hall_of_nobody_says_how_to_begin(run: Runs) -> None:
    shown = run("people", "list")
    assert (shown.exit_code, shown.stdout) == (0, "")
    assert "the link with which the keeper begins" in shown.stderr
    assert run("people", "invite").exit_code == 3


def test_a_mark_tells_whose_it_is_and_another_is_nobodys(run: Runs) -> None:
    run("people", "list")
    run.add(LEARNER)
    store = run.store()
    settle_secret(store)
    with store.look() as db:
        mark = marks.mark_of(db, accounts.the_person_called(db, LEARNER.name).id)
    store.close()
    assert run("people", "marked", mark).stdout == f"{LEARNER.name}\n"
    for other in ("", mark[:-1], mark[::-1]):
        shown = run("people", "marked", other)
        assert (shown.exit_code, shown.stdout) == (3, "")


def test_people_are_listed(run: Runs) -> None:
    run("people", "list")
    run.add(KEEPER, is_keeper=True)
    run.add(LEARNER)
    lines = run("people", "list").stdout.splitlines()
    assert [line.split("  ", 1)[1] for line in lines] == [LEARNER.name, f"{KEEPER.name}  (keeper)"]


def test_an_invitation_made_here_is_good(run: Runs) -> None:
    run("people", "list")
    run.add(KEEPER, is_keeper=True)
    shown = run("people", "invite", "--places", "3", "--days", "2", "--note", "Thursday")
    assert shown.stdout.startswith("http://127.0.0.1:8410/join/")
    store = run.store()
    with store.look() as db:
        found = invitations.the_invitation(db, shown.stdout.strip().rpartition("/")[2], at=datetime.now(UTC))
    store.close()
    assert (found.places, found.note) == (3, "Thursday")


@pytest.mark.parametrize("words", [("--places", "0"), ("--days", "1000")])
def test_an_invitation_out_of_bounds_is_refused(run: Runs, words: tuple[str, str]) -> None:
    run("people", "list")
    run.add(KEEPER, is_keeper=True)
    shown = run("people", "invite", *words)
    assert (shown.exit_code, shown.stdout) == (2, "")
    assert "An invitation" in shown.stderr


def test_a_reset_gives_a_passphrase_that_works_and_ends_the_old(run: Runs) -> None:
    run("people", "list")
    run.add(LEARNER)
    fresh = run("people", "reset", LEARNER.name.lower()).stdout.strip()
    assert len(fresh.split()) == 5
    store = run.store()
    with store.look() as db:
        accounts.recognise(db, name=LEARNER.name, passphrase=fresh)
        with pytest.raises(Invalid):
            accounts.recognise(db, name=LEARNER.name, passphrase=LEARNER.passphrase)
    store.close()


@pytest.mark.parametrize("name", ["Nobody Here", "", "\u202e"])
def test_nobody_cannot_be_reset(run: Runs, name: str) -> None:
    shown = run("people", "reset", name)
    assert shown.exit_code in {2, 3}
    assert shown.stdout == ""
    told = [line for line in shown.stderr.splitlines() if not line.startswith("A new hall is made")]
    assert len(told) == 1


@pytest.mark.parametrize("words", [("people", "list"), ("rebuild",)])
def test_a_file_that_is_no_database_is_left_alone_and_told(run: Runs, words: tuple[str, ...]) -> None:
    run.folder.mkdir()
    file = run.folder / "hall.sqlite"
    file.write_text("a shopping list: oatmeal, twine, a new lamp, and boots that do not leak\n" * 20)
    before = file.read_bytes()
    shown = run(*words)
    assert (shown.exit_code, shown.stdout) == (6, "")
    assert "is damaged, or is no database" in shown.stderr
    assert file.read_bytes() == before


def test_what_was_too_large_to_be_written_anew_is_when_nobody_has_it(run: Runs, monkeypatch: pytest.MonkeyPatch) -> None:
    run("people", "list")
    monkeypatch.setattr("drillhall.store.session.PRAGMAS", ("busy_timeout=30",))
    store = run.store()
    with store.work() as db:
        erasing.note_spared(db, ("hall.sqlite",))
    with store.look() as db:
        assert erasing.list_spared(db) == ("hall.sqlite",)
        assert run("rewrite").exit_code == 6
    assert run("rewrite").exit_code == 0
    with store.look() as db:
        assert erasing.list_spared(db) == ()
    store.close()


def test_rebuild_counts_the_learners_it_has_folded(run: Runs) -> None:
    shown = run("rebuild")
    assert shown.exit_code == 0
    assert "0 learners" in shown.stdout


def test_a_second_step_is_taken_off_once(run: Runs) -> None:
    run("people", "list")
    run.add(LEARNER)
    store = run.store()
    with store.work() as db:
        second_step.make_secret(db, accounts.the_person_called(db, LEARNER.name), at=datetime.now(UTC))
        db.execute(update(SecondStepRow).values(confirmed_at=datetime.now(UTC)))
    store.close()
    assert "really she" in run("people", "second-step-off", LEARNER.name).stderr
    again = run("people", "second-step-off", LEARNER.name)
    assert again.exit_code != 0
    assert "without a second step" in again.stderr


def test_everything_about_somebody_is_written_for_its_owner_and_she_is_erased(run: Runs, tmp_path: Path) -> None:
    run("people", "list")
    run.add(KEEPER, is_keeper=True)
    run.add(LEARNER)
    file = tmp_path / "oda.zip"
    assert run("people", "export", LEARNER.name, str(file)).exit_code == 0
    assert file.stat().st_mode & 0o777 == 0o600
    with zipfile.ZipFile(file) as packed:
        assert LEARNER.name in packed.read("everything-about-you/data/account.json").decode()
    again = run("people", "export", LEARNER.name, str(file))
    assert (again.exit_code, "is there already" in again.stderr) == (5, True)
    assert run("people", "erase", LEARNER.name).exit_code == 1  # nobody is there to say yes
    assert LEARNER.name in run("people", "list").stdout
    assert run("people", "erase", LEARNER.name, "--yes").exit_code == 0
    assert LEARNER.name not in run("people", "list").stdout
    assert run("people", "export", LEARNER.name, str(tmp_path / "x.zip")).exit_code == 3
    assert [path.name for path in tmp_path.iterdir() if "zip" in path.name] == ["oda.zip"]
    assert run("people", "erase", KEEPER.name, "--yes").exit_code == 5


def test_of_two_exports_to_one_name_the_first_that_is_whole_stays(run: Runs, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    run("people", "list")
    run.add(KEEPER, is_keeper=True)
    run.add(LEARNER)
    file, quick, begun = tmp_path / "oda.zip", list[Result](), list[int]()

    def slow(*given: Any, **more: Any) -> None:
        begun.append(len(begun))
        if begun == [0]:
            quick.append(run("people", "export", LEARNER.name, str(file)))
        export_person(*given, **more)

    monkeypatch.setattr("drillhall.cli.people.export_person", slow)
    behind = run("people", "export", LEARNER.name, str(file))
    assert (quick[0].exit_code, behind.exit_code, "is there already" in behind.stderr) == (0, 5, True)
    with zipfile.ZipFile(file) as packed:
        assert packed.testzip() is None
    assert [path.name for path in tmp_path.iterdir() if "zip" in path.name] == ["oda.zip"]
