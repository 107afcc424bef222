"""What cannot be trusted is refused with a sentence, and nothing of it stays; only an empty hall takes a backup."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from alembic import command

from drillhall.errors import Conflict, Invalid
from drillhall.people import accounts, hall
from drillhall.store.archive import Archive
from drillhall.store.migrating import configured, schema_of
from tests.acts.backed_up import Kept, bare, empty, every_file, every_row, opened_once, put_back, take, taken
from tests.practice.small_hall import NOON

__all__ = ["bare", "empty", "opened_once", "taken"]


def rewritten(path: Path, into: Path, change: Callable[[dict[str, bytes]], None], *, summed: bool = False) -> Path:
    """Write a backup anew with something changed in it; `summed`: with sums that fit what it holds now."""
    with zipfile.ZipFile(path) as archive:
        entries = {name: archive.read(name) for name in archive.namelist()}
    change(entries)
    if summed:
        sums = {name: hashlib.sha256(content).hexdigest() for name, content in entries.items() if name != "SHA256SUMS"}
        entries["SHA256SUMS"] = "".join(f"{value}  {name}\n" for name, value in sums.items()).encode()
    with zipfile.ZipFile(into, "w") as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return into


def head_says(**said: object) -> Callable[[dict[str, bytes]], None]:
    def change(entries: dict[str, bytes]) -> None:
        entries["hall.json"] = json.dumps(json.loads(entries["hall.json"]) | said).encode()

    return change


def swapped(name: str, old: bytes, new: bytes) -> Callable[[dict[str, bytes]], None]:
    def change(entries: dict[str, bytes]) -> None:
        assert old in entries[name]
        entries[name] = entries[name].replace(old, new, 1)

    return change


def without(name: str) -> Callable[[dict[str, bytes]], None]:
    return lambda entries: entries.__delitem__(name)


def renamed(old: str, new: str) -> Callable[[dict[str, bytes]], None]:
    return lambda entries: entries.update({new: entries.pop(old)})


@pytest.mark.parametrize(
    ("change", "summed", "why"),
    [
        (head_says(version=2), False, "newer Drillhall"),
        (head_says(schema="29991231_later"), True, "newer Drillhall"),
        (head_says(format="something else"), True, "no backup of a hall"),
        (head_says(rows=7), True, "no backup of a hall"),
        (head_says(taken_at="yesterday"), True, "no backup of a hall"),
        (head_says(taken_at="2031-03-03T12:00:00"), True, "no backup of a hall"),
        (without("hall.json"), False, "hall.json is missing"),
        (without("SHA256SUMS"), False, "SHA256SUMS is missing"),
        (without("rows/answer.jsonl"), False, "not what it holds"),
        (without("rows/answer.jsonl"), True, "not what it holds"),
        (without("pictures/7"), False, "not what it holds"),
        (swapped("rows/answer.jsonl", b"probable", b"possible"), False, "rows/answer.jsonl is not what was written"),
        (swapped("pictures/7", b"7", b"8"), False, "pictures/7 is not what was written"),
        (swapped("rows/account.jsonl", b"Ottilie", b'Ottilie",7,"'), True, "account does not hold what its columns hold"),
        (swapped("rows/account.jsonl", b"\n[1,", b"\n[99,"), True, "one of its rules"),
        (swapped("rows/setting.jsonl", b"\n[", b"\n\x00["), True, "setting cannot be read"),
        (lambda entries: entries.update({"rows/setting.jsonl": entries["rows/setting.jsonl"].split(b"\n")[0]}), True, "as many rows"),
        (renamed("pictures/7", "pictures/../7"), True, "name that no hall gives"),
    ],
)
def test_what_cannot_be_trusted_is_refused_and_nothing_of_it_stays(
    taken: Path, bare: Kept, tmp_path: Path, change: Callable[[dict[str, bytes]], None], summed: bool, why: str
) -> None:
    spoilt = rewritten(taken, tmp_path / "spoilt.zip", change, summed=summed)
    with pytest.raises(Invalid, match=why):
        put_back(bare, spoilt)
    assert every_file(bare.storage) == {}
    assert sum(map(len, every_row(bare.store).values())) == 0


def test_after_one_that_was_refused_the_sound_one_goes_in(taken: Path, bare: Kept, tmp_path: Path) -> None:
    with pytest.raises(Invalid):
        put_back(bare, rewritten(taken, tmp_path / "spoilt.zip", swapped("rows/account.jsonl", b"\n[1,", b"\n[99,"), summed=True))
    put_back(bare, taken)
    with Archive(taken) as archive:
        assert {table: len(rows) for table, rows in every_row(bare.store).items()} == archive.head.rows


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9, 0.999])
def test_one_that_was_cut_short_is_refused(taken: Path, bare: Kept, tmp_path: Path, share: float) -> None:
    whole = taken.read_bytes()
    (tmp_path / "short.zip").write_bytes(whole[: int(len(whole) * share)])
    with pytest.raises(Invalid, match="damaged or was cut short"):
        put_back(bare, tmp_path / "short.zip")


def test_one_whose_entries_are_said_to_lie_before_it_begins_is_refused(taken: Path, bare: Kept, tmp_path: Path) -> None:
    raw = bytearray(taken.read_bytes())
    raw[-6:-2] = (int.from_bytes(raw[-6:-2], "little") + 10**9).to_bytes(4, "little")  # where the directory begins (APPNOTE 4.3.16)
    (tmp_path / "moved.zip").write_bytes(raw)
    with pytest.raises(Invalid, match="damaged or was cut short"):
        put_back(bare, tmp_path / "moved.zip")


@pytest.mark.parametrize("seed", range(5))
def test_any_flipped_bit_is_found_or_harmless(taken: Path, bare: Kept, tmp_path: Path, seed: int) -> None:
    """Bits of the zip's own tables, such as times, mean nothing to the hall; then what comes out is what went in."""
    dice, whole = Random(seed), bytearray(taken.read_bytes())
    whole[dice.randrange(len(whole))] ^= 1 << dice.randrange(8)
    (tmp_path / "flipped.zip").write_bytes(whole)
    try:
        put_back(bare, tmp_path / "flipped.zip")
    except Invalid:
        assert every_file(bare.storage) == {}
        return
    with Archive(taken) as sound:
        assert {key: bare.storage.get(key) for key in list(bare.storage.keys())} == {key: sound.picture(key) for key in sound.keys}


def test_a_file_that_is_not_there_or_no_zip_is_told(bare: Kept, tmp_path: Path) -> None:
    with pytest.raises(Invalid, match="There is no file"):
        put_back(bare, tmp_path / "none.zip")
    (tmp_path / "words.zip").write_text("Not a zip.")
    with pytest.raises(Invalid, match="cannot be opened as a zip"):
        put_back(bare, tmp_path / "words.zip")


def test_a_hall_with_somebody_in_it_is_left_as_it_is(taken: Path, bare: Kept) -> None:
    with bare.store.work() as db:
        accounts.make_account(db, name="Runa", passphrase="kelp on a rusty anchor", at=NOON)
    before = every_row(bare.store)
    with pytest.raises(Conflict, match="not empty"):
        put_back(bare, taken)
    assert every_row(bare.store) == before
    assert every_file(bare.storage) == {}


def test_what_a_first_start_wrote_gives_way(taken: Path, bare: Kept) -> None:
    with bare.store.work() as db:
        hall.make_secret_key(db)
    put_back(bare, taken)
    with bare.store.look() as db:
        assert hall.find_secret_key(db) is None, "that of the hall that was backed up, which had none"


def test_a_backup_of_an_older_schema_is_brought_up_to_date(bare: Kept, empty: dict[str, Kept], tmp_path: Path) -> None:
    old = "20261129_ask_openly"
    with bare.store.work() as db:
        accounts.make_account(db, name="Runa", passphrase="kelp on a rusty anchor", at=NOON)
    command.downgrade(configured(bare.store), old)
    take(bare, tmp_path / "old.zip")
    assert schema_of(bare.store) == old, "a backup brings nothing up to date"
    assert put_back(empty["postgresql"], tmp_path / "old.zip")
    command.check(configured(empty["postgresql"].store))
    with empty["postgresql"].store.look() as db:
        assert [one.name for one in accounts.list_accounts(db)] == ["Runa"]
