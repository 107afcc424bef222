"""Hands damaged files to every reader of the hall: what it cannot take it refuses in a sentence, in bounds, and keeps nothing of it."""

from __future__ import annotations

import time
import traceback
import warnings
from collections.abc import Callable, Mapping
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from random import Random
from typing import Final

from drillhall.acts.import_catalogue import import_catalogue
from drillhall.acts.restore import restore
from drillhall.catalogues.checking import check
from drillhall.catalogues.reading import read_folder
from drillhall.catalogues.reading.pictures import read_pictures
from drillhall.config import read_settings
from drillhall.core.licences import read_licence
from drillhall.core.weeks import read_week
from drillhall.errors import DrillhallError, Unavailable
from drillhall.people.roster_lists import read_list
from drillhall.people.roster_zip import looks_zipped, read_zip
from drillhall.pictures import ingest
from drillhall.pictures.storage import FolderStorage
from drillhall.post.sealing import CONFIRM_ADDRESS, unseal
from drillhall.store.archive import SUMS, Archive
from drillhall.web.faults import list_faults
from drillhall.web.learner import answers
from tests.faults.fuzz import damaging, examples, nasty
from tests.faults.fuzz.drafts import as_bytes
from tests.faults.fuzz.engines import EmptyHall
from tests.faults.fuzz.judging import Verdicts
from tests.faults.fuzz.stage import Stage

LONGEST_SECONDS: Final = 10.0
"""Of a core, for one file; the largest picture that is taken, of 60 million pixels, takes three."""
TOLD: Final = dict.fromkeys(
    ("DATABASE_URL", "PUBLIC_URL", "STORAGE", "PORT", "TRUSTED_PROXY", "METRICS_TOKEN", "LANGUAGE", "LISTEN"), ""
) | {
    "SMTP": "smtps://mail.example",
    "MAIL_FROM": "hall@mail.example",
}
"""What the environment tells a hall, each after `DRILLHALL_`: one at a time is damaged."""
KEYS: Final = {"AWS_ACCESS_KEY_ID": "key", "AWS_SECRET_ACCESS_KEY": "opens"}
SOUND: Final = (
    *("CC-BY-4.0", "https://creativecommons.org/licenses/by/4.0/", "2031-W10", "8410"),
    *("127.0.0.1:25", "https://hall.example", "http://[::1]:8410", "https://[2001:db8::7]/hall"),
)


@dataclass(frozen=True)
class Reader:
    """A reader: `damage` draws a damaged example, `read` reads it; `weight` is its share of all that are read."""

    damage: Callable[[Random], bytes]
    read: Callable[[bytes, Place], object]
    weight: int


@dataclass(frozen=True)
class Place:
    """Where is read: a folder to write the file to, a hall, an empty hall for backups, and the person who brings a catalogue in."""

    folder: Path
    stage: Stage
    empty: EmptyHall

    def put(self, name: str, raw: bytes) -> Path:
        """Write a file and return its path."""
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(raw)
        return path


class _TakenBack(Exception):
    """Takes a work back that went well."""


def _text_of_catalogue(dice: Random) -> bytes:
    """Draw a catalogue as a zip, one file of which is damaged."""
    files = dict(examples.catalogue_files())
    name = dice.choice(("catalogue.toml", "catalogue.toml", "pair-sets.toml", "pictures.csv", "pictures.csv"))
    how = damaging.cellwise if name.endswith(".csv") and dice.random() < 0.6 else damaging.tokenwise
    files[name] = how(files[name], dice) if dice.random() < 0.7 else damaging.bytewise(files[name], dice, files)
    return examples.zipped(files)


def _zip(dice: Random) -> bytes:
    raw = examples.zipped(examples.catalogue_files())
    return damaging.entrywise(raw, dice) if dice.random() < 0.5 else damaging.bytewise(raw, dice, {"zip": raw})


def _picture(dice: Random) -> bytes:
    known = examples.pictures()
    return damaging.bytewise(dice.choice(list(known.values())), dice, known)


def _roster(dice: Random) -> bytes:
    known = examples.rosters()
    name = dice.choice(list(known))
    if name == "zip":
        return damaging.entrywise(known[name], dice) if dice.random() < 0.6 else damaging.bytewise(known[name], dice, known)
    return dice.choice((damaging.tokenwise, damaging.cellwise, lambda raw, dice: damaging.bytewise(raw, dice, known)))(known[name], dice)


def _answers(dice: Random) -> bytes:
    return damaging.treewise(examples.batch(), dice)


def _words(dice: Random) -> bytes:
    told = dice.choice(SOUND)
    return as_bytes(nasty.near(told, dice) if dice.random() < 0.7 else nasty.text(dice))


def _log(dice: Random) -> bytes:
    return damaging.bytewise(examples.LOG, dice, {"log": examples.LOG}) if dice.random() < 0.5 else damaging.tokenwise(examples.LOG, dice)


def _import(raw: bytes, place: Place) -> None:
    """Read, check and bring in; what goes well is taken back, so that the next one finds the hall as it was."""
    path = place.put("catalogue.zip", raw)
    with closing(read_folder(path)) as folder:
        report = check(folder)
        told = [*report.lines]
    storage = FolderStorage(place.stage.folder / "pictures")
    with suppress(_TakenBack), place.stage.store.work() as db:
        import_catalogue(db, storage, path, by=1, at=place.stage.ground.clock())
        raise _TakenBack
    if any("Traceback" in line for line in told):
        raise AssertionError("a fault tells the insides")


def _pictures_table(raw: bytes, place: Place) -> None:
    with closing(read_pictures(place.put("pictures.zip", raw))) as found:
        for row in found.rows:
            found.file_of(row)


def _read_roster(raw: bytes, place: Place) -> None:
    read_zip(raw, class_said="", on=date(2031, 3, 3)) if looks_zipped(raw) else read_list(raw)


def _read_answers(raw: bytes, place: Place) -> None:
    with place.stage.app.test_request_context("/drills/answers", method="POST", data=raw, content_type="application/json"):
        answers.queue_of_json()
        answers.from_json(place.stage.ground.clock())


def _restore(raw: bytes, place: Place) -> None:
    """Put a backup back into an empty hall."""
    with Archive(place.put("backup.zip", raw)) as archive:
        restore(place.empty.store, FolderStorage(place.empty.pictures), archive, progress=lambda *_: None)
    place.empty.renew()


def _read_words(raw: bytes, place: Place) -> None:
    words = raw.decode("utf-8", "replace")
    env = KEYS | {f"DRILLHALL_{name}": value for name, value in TOLD.items()} | {"HOME": str(place.folder)}
    tries: list[Callable[[], object]] = [partial(read_settings, env | {f"DRILLHALL_{name}": words}) for name in TOLD]
    tries += [
        partial(read_licence, words),
        partial(unseal, "key", CONFIRM_ADDRESS, words, at=datetime.now(UTC)),
        partial(read_week, words, field="week", label="The week"),
    ]
    refused = []
    for read in tries:
        try:
            read()
        except DrillhallError as error:
            refused.append(error)
    if unclear := next(filter(_is_unclear, refused), None) or (refused[-1] if len(refused) > len(tries) // 2 else None):
        raise unclear


def _is_unclear(error: DrillhallError) -> bool:
    """Whether a refusal is none that a reader may give."""
    return isinstance(error, Unavailable) or type(error) is DrillhallError or not error.sentence.strip()


def readers(backup: bytes) -> Mapping[str, Reader]:
    """Return every reader by name; `backup` is a sound one of the hall."""

    def damaged_backup(dice: Random) -> bytes:
        return damaging.entrywise(backup, dice, sums=SUMS) if dice.random() < 0.7 else damaging.bytewise(backup, dice, {"zip": backup})

    return {
        "catalogue texts": Reader(_text_of_catalogue, _import, 6),
        "catalogue zips": Reader(_zip, _import, 3),
        "picture folders": Reader(_text_of_catalogue, _pictures_table, 3),
        "pictures": Reader(_picture, lambda raw, _: ingest.take(raw, keep_original=True), 8),
        "rosters": Reader(_roster, _read_roster, 8),
        "answers": Reader(_answers, _read_answers, 8),
        "backups": Reader(damaged_backup, _restore, 1),
        "logs": Reader(_log, lambda raw, place: list_faults(place.put("faults.log", raw)), 2),
        "words": Reader(_words, _read_words, 6),
    }


def read_some(place: Place, known: Mapping[str, Reader], seeds: range, verdicts: Verdicts) -> None:
    """Hand one damaged file a seed to a reader."""
    names = [name for name, reader in known.items() for _ in range(reader.weight)]
    for seed in seeds:
        dice = Random(f"readers {seed}")
        name = dice.choice(names)
        raw = known[name].damage(dice)
        _read_one(place, name, known[name], raw, f"--seed {seed}", verdicts)


def _read_one(place: Place, name: str, reader: Reader, raw: bytes, where: str, verdicts: Verdicts) -> None:
    began = time.process_time()
    outcome, told = "read", ""
    try:
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", category=UserWarning, module="PIL")  # it tells of broken blocks so, and goes on
            reader.read(raw, place)
    except DrillhallError as error:
        outcome = "refused"
        if _is_unclear(error):
            told = f"is refused as {type(error).__name__}: {error.sentence}"
    except Exception as error:  # noqa: BLE001 - what is none of the hall's errors is what is looked for
        outcome = "broke"
        frames = [frame for frame in traceback.extract_tb(error.__traceback__) if "/drillhall/" in frame.filename]
        told = f"{type(error).__name__} {Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else repr(error)
    verdicts.counts[f"{name} {outcome}"] += 1
    verdicts.counts["files"] += 1
    if told:
        verdicts.note(f"{name}: {told}", f"{where}: {len(raw)} bytes {raw[:300]!r}\n{traceback.format_exc() if outcome == 'broke' else ''}")
    if time.process_time() - began > LONGEST_SECONDS:
        verdicts.note(f"{name}: took more than {LONGEST_SECONDS:.0f} seconds of a core", f"{where}: {len(raw)} bytes")
    for change in place.stage.changes():
        verdicts.note(f"{name}: {outcome} and changed {change}", where)
