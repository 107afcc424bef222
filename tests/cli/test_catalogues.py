"""`check`, `import` and `export` at a terminal: what they say, what they do, and the status they end with."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from drillhall.catalogues.stewards import add_steward
from drillhall.catalogues.writing import the_catalogue_id
from drillhall.cli import main
from drillhall.people import accounts
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.session import Store
from tests import cast
from tests.acts.pictures import jpeg
from tests.catalogues import folders
from tests.catalogues.folders import ROW
from tests.hashing import light_hashing

AT = datetime(2031, 3, 3, 8, 0, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A sound catalogue with one real picture."""
    return folders.write(tmp_path / "mudflat", files={"a.jpg": jpeg(1)})


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data folder of a hall with a keeper and a leader, to copy."""
    place = tmp_path_factory.mktemp("bare")
    store = Store(f"sqlite:///{place / 'hall.sqlite'}")
    bring_up_to_date(store)
    with light_hashing(), store.work() as db:
        for someone in (cast.KEEPER, cast.LEADER):
            is_keeper = someone is cast.KEEPER
            accounts.make_account(db, name=someone.name, passphrase=someone.passphrase, at=AT, is_keeper=is_keeper)
    store.close()
    return place


@pytest.fixture
def data(bare: Path, tmp_path: Path) -> Path:
    """The data folder of such a hall of the test's own."""
    return Path(shutil.copytree(bare, tmp_path / "hall"))


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def test_a_sound_folder_is_told_sound_and_what_it_wants(folder: Path) -> None:
    told = run("check", folder)
    assert told.exit_code == 0
    assert told.stdout.splitlines()[:2] == [f"{folder}: no faults.", "Wanted still:"]


def test_every_fault_is_told_with_status_2(tmp_path: Path) -> None:
    told = run("check", folders.write(tmp_path / "x", rows=[{**ROW, "form": "gone", "use": "test"}]))
    assert told.exit_code == 2
    assert "2 faults to mend before it can be imported." in told.stderr
    assert told.stderr.count("pictures.csv, line 2 (a.jpg): ") == 2


def test_a_long_list_of_wants_is_cut_unless_all_is_asked_for(tmp_path: Path) -> None:
    rows = [{**ROW, "file": f"{number}.jpg", "pose": f"pose {number}"} for number in range(30)]
    traits = "".join(
        f'[[traits]]\nkey="t{n}"\nlabel="x"\npart="bill"\nkind="size"\nstates=[{{key="a",label="a"}},{{key="b",label="b"}}]\n'
        for n in range(30)
    )
    folder = folders.write(tmp_path / "x", catalogue=folders.CATALOGUE + traits, rows=rows)
    assert "more: see `drillhall check --all`." in run("check", folder).stdout
    assert "more: see" not in run("check", folder, "--all").stdout


def test_nothing_there_is_told(tmp_path: Path) -> None:
    told = run("check", tmp_path / "nothing")
    assert (told.exit_code, told.stderr.startswith("There is no folder or zip at")) == (2, True)


def test_an_import_tells_what_it_does_and_a_second_one_does_nothing(folder: Path, data: Path) -> None:
    told = run("import", folder, "--data", data)
    assert told.exit_code == 0
    assert "forms: 3 to add (lesser, greater, third), 0 left as they are" in told.stdout
    assert told.stdout.endswith("Imported.\n")
    again = run("import", folder, "--data", data)
    assert (again.exit_code, again.stdout.endswith("The hall says all that already. Nothing was changed.\n")) == (0, True)


def test_what_was_exported_can_be_imported_again(folder: Path, data: Path, tmp_path: Path) -> None:
    run("import", folder, "--data", data)
    for target in (tmp_path / "out", tmp_path / "out.zip"):
        told = run("export", "mudflat", target, "--data", data)
        assert (told.exit_code, told.stdout) == (0, f"{target}: 1 picture.\n")
        assert folders.read(target) == folders.read(folder)
        assert "Nothing was changed." in run("import", target, "--data", data).stdout


def test_a_faulty_import_keeps_nothing(tmp_path: Path, data: Path) -> None:
    told = run("import", folders.write(tmp_path / "x", rows=[{**ROW, "form": "gone"}]), "--data", data)
    assert (told.exit_code, "Nothing was imported" in told.stderr) == (2, True)
    assert run("export", "mudflat", tmp_path / "out", "--data", data).exit_code == 3


def test_an_undecodable_picture_is_told_and_nothing_kept(tmp_path: Path, data: Path) -> None:
    told = run("import", folders.write(tmp_path / "x"), "--data", data)
    assert told.exit_code == 2
    assert "pictures.csv, line 2 (a.jpg): This file is no picture" in told.stderr
    assert list((data / "pictures").rglob("*.*")) == []


def test_in_whose_name(folder: Path, data: Path, tmp_path: Path) -> None:
    assert run("import", folder, "--data", data, "--as", cast.LEADER.name.upper()).exit_code == 0
    assert run("import", folder, "--data", data).exit_code == 0  # a steward is found
    assert run("import", folder, "--data", data, "--as", cast.KEEPER.name).exit_code == 5
    assert run("export", "mudflat", tmp_path / "out", "--data", data, "--as", cast.KEEPER.name).exit_code == 3
    assert not (tmp_path / "out").exists()
    told = run("import", folder, "--data", data, "--as", "Nobody")
    assert (told.exit_code, "Nobody here is called Nobody." in told.stderr) == (3, True)


def test_a_hall_without_a_keeper_says_where_to_begin(folder: Path, tmp_path: Path) -> None:
    told = run("import", folder, "--data", tmp_path / "new")
    assert (told.exit_code, "no keeper yet" in told.stderr) == (3, True)


def test_an_export_overwrites_nothing(folder: Path, data: Path) -> None:
    run("import", folder, "--data", data)
    told = run("export", "mudflat", folder, "--data", data)
    assert (told.exit_code, "is there already" in told.stderr) == (5, True)


def test_what_the_rights_keep_in_the_hall_is_told(tmp_path: Path, data: Path) -> None:
    hers = folders.write(tmp_path / "x", rows=[{**ROW, "dcterms:rights": ""}], files={"a.jpg": jpeg(1)})
    run("import", hers, "--data", data, "--as", cast.LEADER.name)
    told = run("export", "mudflat", tmp_path / "hers", "--data", data)
    assert (told.exit_code, told.stderr) == (0, "")  # the steward is the owner: her own picture leaves with her
    store = Store(f"sqlite:///{data / 'hall.sqlite'}")
    with store.work() as db:
        add_steward(db, the_catalogue_id(db, "mudflat"), accounts.the_keeper(db).id)
    store.close()
    told = run("export", "mudflat", tmp_path / "out", "--data", data, "--as", cast.KEEPER.name)
    assert told.stdout == f"{tmp_path / 'out'}: 0 pictures.\n"
    assert told.stderr == "  left out, since its rights keep it in the hall: a.jpg\n"
