"""A small portion of what nobody means, and that the drill sees a fault where one is planted."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest
from sqlalchemy import text

from drillhall.errors import Invalid, Unavailable
from drillhall.web.session import store
from tests.faults.fuzz import damaging, examples, nasty
from tests.faults.fuzz.drafts import Draft, Sent, send
from tests.faults.fuzz.engines import a_stage
from tests.faults.fuzz.forms import Knows, fill, read_page
from tests.faults.fuzz.ground import build
from tests.faults.fuzz.judging import Verdicts, faults
from tests.faults.fuzz.readers import Place, Reader, read_some, readers
from tests.faults.fuzz.routes import live
from tests.faults.fuzz.stage import Reply, Stage
from tests.hall import MADE_AT
from tests.hashing import light_hashing


@pytest.fixture(scope="module")
def stage(built_hall: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stage]:
    """A hall to ask, of whose pages one in thirty was read for forms."""
    folder = tmp_path_factory.mktemp("fuzz")
    ground = build(folder, share=0.034, like=built_hall)
    with light_hashing(), a_stage(ground, folder / "hall", "") as stage:
        yield stage


# An upload that breaks off within a file leaves that file to the garbage collector: so it is in the form parser of Werkzeug.
@pytest.mark.filterwarnings("ignore:Unclosed file:ResourceWarning")
def test_a_few_requests_that_nobody_means_break_nothing(stage: Stage) -> None:
    verdicts = Verdicts()
    for seed in (32, 33):
        live(stage, seed, verdicts, requests=60)
    assert verdicts.told() == []
    assert verdicts.counts["requests"] == 120
    assert verdicts.counts["granted"] >= 24
    assert len(verdicts.reached) > 24


@pytest.mark.parametrize("value", ["²", "--5", "٣", "9" * 5000, "-", ""])
def test_what_is_nearly_a_number_is_spoilt_as_well(value: str) -> None:
    assert all(isinstance(nasty.near(value, Random(seed)), str | bytes) for seed in range(40))


def test_a_few_damaged_files_break_nothing(stage: Stage, tmp_path: Path) -> None:
    verdicts = Verdicts()
    known = {name: reader for name, reader in readers(b"").items() if name != "backups"}
    read_some(Place(tmp_path, stage, Place), known, range(30), verdicts)  # type: ignore[arg-type]  # no backup is put back
    assert verdicts.told() == []
    assert verdicts.counts["files"] == 30
    assert sum(count for name, count in verdicts.counts.items() if name.endswith(" refused")) > 9


def _asked(stage: Stage, view: Any, endpoint: str, path: str, method: str, monkeypatch: pytest.MonkeyPatch) -> Verdicts:
    """Ask one page of a hall in whose place there is another view."""
    stage.set_back(Random(1))
    monkeypatch.setitem(stage.app.view_functions, endpoint, view)
    draft, verdicts = Draft("keeper", method, path, endpoint), Verdicts()
    sent = send(draft, stage.ground.cookies["keeper"], stage.ground.tokens["keeper"])
    verdicts.judge(draft, sent, stage.ask(sent), stage.changes(), "there")
    return verdicts


def _breaks() -> str:
    raise ZeroDivisionError


def _says_busy() -> str:
    raise Unavailable("Busy.")


def _tells_insides() -> str:
    return "Traceback (most recent call last):"


def _writes(db_words: str = "UPDATE account SET name = name || 'x' WHERE id = 1") -> str:
    with store().work() as db:
        db.execute(text(db_words))
    return "done"


def _writes_and_refuses() -> str:
    _writes("INSERT INTO setting (key, value) VALUES ('planted', '1')")
    raise Invalid("No.")


def _leaves_a_file(stage: Stage) -> str:
    (stage.folder / "pictures" / "left.jpg").write_bytes(b"x")
    raise Invalid("No.")


@pytest.mark.parametrize(
    ("view", "method", "told"),
    [
        (_breaks, "GET", "account.settings: status 500 ZeroDivisionError"),
        (_says_busy, "GET", "account.settings: status 503"),
        (_tells_insides, "GET", "account.settings: tells its insides"),
        (_writes, "GET", "account.settings: GET answered 200 and changed account"),
        (_writes_and_refuses, "POST", "account.settings: POST answered 422 and changed setting"),
        (None, "POST", "account.settings: POST answered 422 and changed a file"),
    ],
)
def test_each_planted_fault_of_a_page_is_seen(stage: Stage, view: Any, method: str, told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    verdicts = _asked(stage, view or (lambda: _leaves_a_file(stage)), "account.settings", "/settings", method, monkeypatch)
    (kind,) = verdicts.found
    assert kind.startswith(told)
    assert verdicts.found[kind].startswith(f"there: keeper {method} /settings")


def test_what_is_granted_may_change_rows(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    assert _asked(stage, _writes, "account.settings", "/settings", "POST", monkeypatch).found == {}


def test_a_slow_answer_and_one_that_never_came_are_seen() -> None:
    sent = Sent("GET", "/", "", {}, b"")
    assert faults("x", sent, Reply(200, {}, b"", seconds=9.0), []) == ["took more than 5 seconds of a core"]
    assert faults("x", sent, Reply(0, {}, b"", 0.1, raised="ValueError: of what"), []) == ["escaped: ValueError"]


@pytest.mark.parametrize(
    ("endpoint", "changed", "count"),
    [
        ("account.sign_in", ["audit"], 0),
        ("second_step.by_passkey", ["audit"], 0),
        ("second_step.by_passkey", ["audit", "passkey"], 1),
        ("second_step.set_up", ["audit"], 1),
    ],
)
def test_a_refused_way_in_may_be_written_down_and_nothing_else(endpoint: str, changed: list[str], count: int) -> None:
    assert len(faults(endpoint, Sent("POST", "/", "", {}, b""), Reply(422, {}, b"", 0.1), changed)) == count


def test_planted_faults_of_a_reader_are_seen(stage: Stage, tmp_path: Path) -> None:
    def breaks(_raw: bytes, _place: Place) -> None:
        raise KeyError("planted")

    def leaves(_raw: bytes, place: Place) -> None:
        (place.stage.folder / "left").write_bytes(b"x")

    def is_busy(_raw: bytes, _place: Place) -> None:
        raise Unavailable("Busy.")

    for read, told in ((breaks, "KeyError"), (leaves, "changed the file left"), (is_busy, "is refused as Unavailable")):
        verdicts = Verdicts()
        read_some(Place(tmp_path, stage, Place), {"planted": Reader(lambda dice: b"x", read, 1)}, range(1), verdicts)  # type: ignore[arg-type]
        assert [kind for kind in verdicts.found if told in kind]


def test_examples_are_sound_and_damage_is_the_same_for_the_same_dice(stage: Stage, tmp_path: Path) -> None:
    known = readers(b"")
    place = Place(tmp_path, stage, Place)  # type: ignore[arg-type]
    known["catalogue zips"].read(examples.zipped(examples.catalogue_files()), place)
    known["answers"].read(examples.batch(), place)
    for raw in examples.rosters().values():
        known["rosters"].read(raw, place)
    for name, raw in examples.pictures().items():
        if name not in {"bmp", "heic", "gif moving"}:
            known["pictures"].read(raw, place)
    files = examples.catalogue_files()
    assert damaging.bytewise(files["pictures/a.jpg"], Random(4), files) == damaging.bytewise(files["pictures/a.jpg"], Random(4), files)
    assert known["catalogue texts"].damage(Random(9)) != examples.zipped(files)


PAGE = """
<form method="post" action="/there"><input name="token" type="hidden" value="t"><input name="who" required>
<select name="kind"><option value="a">A<option value="b" selected>B</select><textarea name="note">\nhello</textarea>
<input type="radio" name="r" value="1"><input type="radio" name="r" value="2" checked><button name="act" value="go">Go</button></form>
<form id="other"><input type="file" name="f"></form><input name="loose" form="other" value="3"><a href="/x?page=2">more</a>
"""


def test_a_form_is_read_and_filled_in_as_a_browser_does() -> None:
    (there, other), links = read_page("/here", PAGE)
    assert (there.action, there.method, other.action, other.method) == ("/there", "POST", "/here", "GET")
    assert links == ["/x?page=2"]
    assert [one.name for one in other.fields] == ["f", "loose"]
    knows = Knows("Ada", "a passphrase", MADE_AT.date(), {"who": ("Ada",)})
    filled = [dict(fill(there, knows, Random(number))) for number in range(20)]
    assert all(set(one) == {"token", "who", "kind", "note", "r", "act"} and one["token"] == "t" for one in filled)
    assert {one["kind"] for one in filled} == {"a", "b"}
    assert {one["r"] for one in filled} == {"1", "2"}
