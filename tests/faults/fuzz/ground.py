"""Where requests are sent that nobody means: a hall with something behind each route, its people signed in, and the forms of its pages."""

from __future__ import annotations

import shutil
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any, Final
from urllib.parse import parse_qsl, urlsplit

from werkzeug.exceptions import HTTPException
from werkzeug.routing import MapAdapter

from drillhall.config import MailSettings
from drillhall.store.session import Store
from tests import cast
from tests.acts.pictures import jpeg
from tests.faults.fuzz.forms import Form, Knows, read_page
from tests.hall import MADE_AT, build_hall
from tests.hashing import light_hashing
from tests.visits import Hall, Visitor, open_hall
from tests.web.full import fill_hall
from tests.web.things import things_of
from tests.web.walking import methods_of, path_of, rules_of

PEOPLE: Final = {"visitor": None, "learner": cast.LEARNER, "stranger": cast.STRANGER, "leader": cast.LEADER, "keeper": cast.KEEPER}
"""Who asks: the leader leads a class and teaches it, and writes a catalogue; the keeper writes another."""
SETTINGS: Final = {"mail": MailSettings("127.0.0.1", 9, "none", "hall@mail.example"), "public_url": "http://localhost"}
MOST_LINKS: Final = 60
"""How many pages of one person are read for their forms beside those of the routes."""


@dataclass(frozen=True)
class Seed:
    """A form on a page that one person has."""

    who: str
    form: Form


@dataclass(frozen=True)
class Ground:
    """A hall on disk, and what is known of it: cookies and form tokens by person, arguments of routes, forms by endpoint, names, files."""

    folder: Path
    cookies: dict[str, dict[str, str]]
    tokens: dict[str, str]
    values: dict[str, Any]
    seeds: dict[str, list[Seed]]
    names: tuple[str, ...]
    asked: dict[str, list[tuple[str, str]]]
    answers: list[dict[str, Any]]
    files: dict[str, bytes]
    openers: dict[str, list[str]]

    @staticmethod
    def clock() -> datetime:
        """Return the hall's time, which stands still."""
        return MADE_AT + timedelta(hours=1)

    def knows(self, who: str) -> Knows:
        """Return what somebody who fills in a form knows."""
        person = PEOPLE[who] or cast.LEARNER
        words = {
            "name": (f"Heron {who}", person.name, cast.LEARNER.name),
            "current": (person.passphrase,),
            "list": ("name,code\nWenna T.,a1\nJory P.,b2\n", "Wenna\nJory\n"),
            "zone": ("Europe/Lisbon", "UTC"),
            "chosen": ("1", "2"),
        }
        return Knows(person.name, person.passphrase, MADE_AT.date(), words)


def build(folder: Path, *, share: float = 1.0, like: Path | None = None) -> Ground:
    """Build a hall in a folder, or copy one that was built, and read the forms of its pages, or of a share of these."""
    folder.mkdir(parents=True, exist_ok=True)
    built = Path(shutil.copytree(like, folder / "built")) if like else build_hall(folder / "built")
    with light_hashing():
        return _read(built, share)


def _read(built: Path, share: float) -> Ground:
    store = Store(f"sqlite:///{built / 'hall.sqlite'}")
    hall = open_hall(store, built, **SETTINGS)
    hall.clock.at = MADE_AT + timedelta(hours=1)
    fill_hall(hall)
    people = {kind: hall.enter(one, known=True) if one else hall.visitor() for kind, one in PEOPLE.items()}
    values = things_of(hall, people["learner"], people["keeper"])
    values |= {"filename": "icon.svg", "icon_name": "icon-192", "name": "progress", "file_format": "csv"}
    with people["keeper"].get("/catalogues/small-estuary/export", buffered=True) as answer:
        packed = answer.get_data()
    files = {"zip": packed, "jpg": jpeg(3), "png": jpeg(4), "csv": b"name,code\nWenna T.,a1\nJory P.,b2\n"}
    pages = _crawl(hall, people, values, share)
    answers = list(_answers(values.pop("packet")))
    names = sorted({one.name for forms in pages.seeds.values() for seed in forms for one in seed.form.fields if one.name})
    tokens = {kind: one.token() for kind, one in people.items()}
    cookies = {kind: one.cookies() for kind, one in people.items()}
    store.fold_log()
    store.close()
    return Ground(built, cookies, tokens, values, pages.seeds, tuple(names), pages.asked, answers, files, _openers(pages))


@dataclass
class _Pages:
    """What was read: forms by the endpoint that they are sent to, what links ask of each endpoint, and who opened which."""

    seeds: defaultdict[str, list[Seed]] = field(default_factory=lambda: defaultdict(list))
    asked: defaultdict[str, list[tuple[str, str]]] = field(default_factory=lambda: defaultdict(list))
    opened: defaultdict[str, list[str]] = field(default_factory=lambda: defaultdict(list))


def _crawl(hall: Hall, people: dict[str, Visitor], values: dict[str, Any], share: float) -> _Pages:
    """Read the pages of everybody: of each route, and of some links on these."""
    pages, dice = _Pages(), Random(share)
    adapter = hall.app.url_map.bind("localhost")
    rules = [rule for rule in rules_of(hall) if "GET" in methods_of(rule)]
    paths = [path_of(hall, rule, **values | {"token": values.get(rule.endpoint, "wrong")}) for rule in rules if dice.random() <= share]
    for kind, visitor in people.items():
        seen, waiting = set(paths), [*paths]
        while waiting:
            path = waiting.pop(0)
            for link in _read_one(pages, adapter, kind, visitor, path):
                if link.startswith("/") and link not in seen and len(seen) < len(paths) + MOST_LINKS * share:
                    waiting.append(link)
                    seen.add(link)
    return pages


def _read_one(pages: _Pages, adapter: MapAdapter, kind: str, visitor: Visitor, path: str) -> list[str]:
    """Read one page, and return where its links lead."""
    with visitor.get(path, buffered=True) as answer:
        if answer.status_code == 200:
            pages.opened[_endpoint(adapter, path, "GET")].append(kind)
        if answer.mimetype != "text/html":
            return []
        forms, links = read_page(path, answer.get_data(as_text=True))
    for form in forms:
        pages.seeds[_endpoint(adapter, form.action, form.method)].append(Seed(kind, form))
    for link in links:
        pages.asked[_endpoint(adapter, link, "GET")] += parse_qsl(urlsplit(link).query)
    return links


def _openers(pages: _Pages) -> dict[str, list[str]]:
    """Return who may well be let in at each endpoint: who opened its page, or has a form for it."""
    having = {endpoint: sorted({seed.who for seed in seeds}) for endpoint, seeds in pages.seeds.items()}
    return having | {endpoint: sorted(set(kinds)) for endpoint, kinds in pages.opened.items()}


def _endpoint(adapter: MapAdapter, address: str, method: str) -> str:
    try:
        return str(adapter.match(urlsplit(address).path, method)[0])
    except HTTPException:
        return ""


def _answers(packet: dict[str, Any]) -> Iterator[dict[str, Any]]:
    showings = [one for each in packet["rounds"] for one in each["showings"]]
    for number, (showing, ask) in enumerate((one, ask) for one in showings for ask in one["asks"]):
        yield {
            "id": f"00000000-0000-4000-8000-{number:012d}",
            "showing": showing["showing"],
            "ask": ask["place"],
            "said": ask["answer_key"],
            "sure": "certain",
            "seconds": 2.5,
            "hint": False,
            "at": (MADE_AT + timedelta(hours=1)).isoformat(),
        }


def copy_of(ground: Ground, folder: Path) -> Path:
    """Return a copy of the hall's data folder, in place of the one that was there."""
    shutil.rmtree(folder, ignore_errors=True)
    return Path(shutil.copytree(ground.folder, folder, ignore=shutil.ignore_patterns("catalogue")))
