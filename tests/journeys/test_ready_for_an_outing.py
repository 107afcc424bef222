"""A leader with a folder of pictures: a set, a group of five, an outing in three weeks; the five drill, the eve sheet is printed.

What it costs her is counted, since a clock would measure the machine: forms that she sends, choices that she makes in them, and
signs that she types. Pages opened on the way and moving about in them are not.
"""

from __future__ import annotations

import re
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page
from pypdf import PdfReader
from sqlalchemy import select
from werkzeug.test import TestResponse

from drillhall.practice.packets import Question, RoundView
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from tests import cast
from tests.browser.sent_pictures import a_photograph
from tests.hall import Hall
from tests.journeys.playing_by_pages import play_by_pages, play_by_script
from tests.practice.playing import play
from tests.visits import Visitor
from tests.web.catalogue.writing import PAIR, TELLING, Written, write_gulls

DUSKY = {"vernacular_name": "Dusky Weirgull", "scientific_name": "Larus fuliginosus", "taxon_rank": "species", "life_stage": "adult"}
HARD_PAIR = "/pairs/grey_weirgull_adult:dusky_weirgull_adult"
HARD = {"chance.dusky_weirgull_adult.wing_tip.white": "usually", "third_share": "5", "neither": "yes"}
SET = {
    "title": "Gulls of the outing",
    "title.1": "All of them",
    "stage.grey_weirgull_adult:pale_weirgull": "1",
    "stage.grey_weirgull_adult:dusky_weirgull_adult": "1",
}
OPEN = {"with_rights": "yes", "creator": "Pell Ammerby", "credit": "Pell Ammerby", "licence": "CC-BY-4.0", "understood": "yes"}
FORMS = ("Grey Weirgull", "Pale Weirgull", "Dusky Weirgull")
PRACTICE, PORTRAITS = 5, 1
NAMES = ("Ada Fennimore", "Bo Tarn", "Cleo Marsh", "Dag Oxen", "Eir Sluys")


MOST_FORMS, MOST_CHOICES, MOST_SIGNS = 22, 105, 420
"""She sends 19 forms with 93 choices and 336 signs, and two forms more in the browser, to give the set and plan the outing."""


class Counted(Visitor):
    """A visitor whose forms, choices and typed signs are counted; the pictures of a folder are chosen in one go."""

    forms = choices = signs = 0

    def post(self, path: str, fields: dict[str, Any] | None = None, **more: Any) -> TestResponse:
        if path == "/my-pictures/send":
            self.choices += not self.files
            self.files = True
            return super().post(path, fields, **more)
        self.forms += 1
        for name, value in (fields or {}).items():
            chosen = value if isinstance(value, list) else [value]
            for one in chosen if name not in ("version", "page") else ():
                is_typed = isinstance(value, str) and name not in CHOSEN and not name.startswith(("taxon", "chance."))
                self.signs += len(str(one)) if is_typed else 0
                self.choices += not is_typed
        return super().post(path, fields, **more)

    files = False


CHOSEN = ("kind", "subject", "language", "taxon_rank", "life_stage", "first", "second", "form", "use", "orientation", "licence", "group")
CHOSEN += ("catalogue", "with_rights", "understood", "neither", "with_code", "picture")


def a_folder(path: Path) -> list[Path]:
    """Fill a folder with photographs, those of one form after those of another."""
    path.mkdir()
    for number in range(len(FORMS) * (PRACTICE + PORTRAITS)):
        (path / f"{number:02}.jpg").write_bytes(a_photograph(number + 1, size=(960, 720), day=f"2031:02:{number + 1:02} 06:45:10"))
    return sorted(path.iterdir())


def send(leader: Visitor, file: Path) -> str:
    """Send one picture, as the page does for each file that is chosen."""
    told = {"undisturbed": "yes", "file": (BytesIO(file.read_bytes()), file.name)}
    headers = {"Accept": "application/json", "Referer": f"{leader.base}/"}
    answer = leader.post("/my-pictures/send", told, content_type="multipart/form-data", headers=headers)
    return str(answer.get_json()["page"]).rpartition("/")[2]


def write(leader: Visitor) -> None:
    """Write a catalogue of three gulls in two pairs, and a set of both."""
    gulls: Written = write_gulls(leader)
    for page, fields in (("/forms/new", DUSKY), ("/pairs/new", {"first": "grey_weirgull_adult", "second": "dusky_weirgull_adult"})):
        assert gulls.post(page, fields).status_code == 303
    for page, fields in ((PAIR, TELLING), (HARD_PAIR, HARD), ("/sets/new", SET)):
        answer = gulls.post(page, fields)
        assert answer.status_code == 303, answer.text


def describe(leader: Visitor, ids: list[str]) -> None:
    """Say of the pictures of each form what they show, what they are for and under which licence they come."""
    page = leader.get("/my-pictures/describe").text
    each = PRACTICE + PORTRAITS
    for place, name in enumerate(FORMS):
        number = re.search(rf'<option value="(\d+)"[^>]*>{name}', page)
        assert number, name
        hers = ids[place * each : (place + 1) * each]
        for chosen, use in ((hers[:PRACTICE], "practice"), (hers[PRACTICE:], "portrait")):
            said = {"picture": chosen, "form": number[1], "orientation": "left", "use": use} | OPEN
            answer = leader.post("/my-pictures/describe", said)
            assert answer.status_code == 303, answer.text


def put_in(leader: Visitor, ids: list[str]) -> None:
    """Put all pictures into her catalogue at once, after which the preview and an open question have something to show."""
    catalogue = re.search(r'<option value="(\d+)" selected>Gulls of the weir: yours, at once', leader.get("/my-pictures").text)
    assert catalogue
    assert leader.post("/my-pictures/offers", {"picture": ids, "catalogue": catalogue[1]}).status_code == 303
    assert leader.get("/catalogues/gulls-of-the-weir/preview").text.count('aria-labelledby="round-') == 2


def invite_five(hall: Hall, leader: Visitor, group: str) -> tuple[list[int], list[Visitor]]:
    """Let five join by the code that the leader reads out; return their accounts and their browsers, in the order of their names."""
    assert leader.post(f"{group}/invitations", {"places": "5", "days": "7", "note": "", "with_code": "yes"}).status_code == 303
    code = re.search(r'"offered code">([2-9B-Z]{4}-[2-9B-Z]{4})<', leader.get(f"{group}/invitations").text)
    assert code
    visitors = []
    for name in NAMES:
        visitor = Visitor(hall.app, hall.address)
        visitors.append(visitor)
        assert visitor.post("/groups/join", {"code": code[1]}).status_code == 303
        told = {"name": name, "passphrase": f"{name} walks at low water", "zone": "UTC", "old_enough": "yes"}
        assert visitor.post("/join/code", told).status_code == 303
    with hall.store.look() as db:
        members = select(MembershipRow.account_id).join(AccountRow, AccountRow.id == MembershipRow.account_id)
        return list(db.scalars(members.where(AccountRow.name.in_(NAMES)).order_by(AccountRow.name))), visitors


def give(page: Page, group: str, day: str) -> None:
    """Give the group the set for the day, and plan the outing that it prepares for, in a browser."""
    page.goto(f"{group}/assignments")
    page.get_by_label("Pair set", exact=True).select_option(label="Gulls of the outing (2 pairs, Gulls of the weir)")
    page.get_by_label("For", exact=True).fill(day)
    page.get_by_role("button", name="Give it to the group").click()
    page.goto(f"{group}/outings")
    page.locator("main input[name=title]").fill("Gulls at the weir")
    page.locator("main input[name=day]").fill(day)
    page.locator("main input[name=place]").fill("8:30, the old weir")
    page.get_by_label("It prepares for").select_option(label="Gulls of the outing, given to the group")
    page.get_by_role("button", name="Plan it").click()


def takes_dusky_for_grey(view: RoundView, question: Question) -> bool:
    """Know everything but the hard pair."""
    names = {view.pair.first.name, view.pair.second.name}
    return question.kind != "form" or "Dusky Weirgull" not in names


def drill_twice(hall: Hall, five: list[int], browsers: list[Visitor]) -> None:
    """Let the five drill twice within three weeks, the first two of them once over HTTP."""
    for visit in range(2):
        hall.clock.pass_by(days=10)
        for place, account_id in enumerate(five):
            if place < 2 and visit == 0:
                browsers[place].post("/sign-in", {"name": NAMES[place], "passphrase": f"{NAMES[place]} walks at low water"})
                by_hand = (play_by_pages, play_by_script)[place]
                assert by_hand(hall, browsers[place], account_id, knows=takes_dusky_for_grey) > 0
            else:
                with hall.store.work() as db:
                    play(db, account_id, at=hall.clock.now, knows=takes_dusky_for_grey)


def test_from_a_folder_of_pictures_to_the_eve_sheet(hall: Hall, browser: Browser, tmp_path: Path) -> None:
    leader = Counted(hall.app, hall.address)
    Visitor.post(leader, "/sign-in", {"name": cast.STRANGER.name, "passphrase": cast.STRANGER.passphrase})
    write(leader)
    ids = [send(leader, file) for file in a_folder(tmp_path / "gulls")]
    describe(leader, ids)
    group = str(leader.post("/groups", {"title": "Weir watchers", "kind": "club"}).location).partition("?")[0]
    put_in(leader, ids)
    five, browsers = invite_five(hall, leader, group)
    assert len(five) == 5
    page = hall.context(browser, cast.STRANGER).new_page()
    give(page, group, (hall.clock.now.date() + timedelta(days=21)).isoformat())
    spent = (leader.forms, leader.choices, leader.signs)
    assert all(one <= most for one, most in zip(spent, (MOST_FORMS, MOST_CHOICES, MOST_SIGNS), strict=True)), spent
    drill_twice(hall, five, browsers)
    page = hall.context(browser, cast.STRANGER).new_page()  # three weeks on she signs in anew
    page.goto(f"{group}/outings")
    page.get_by_role("link", name=re.compile("[Ee]ve sheet")).first.click(timeout=5000)
    page.wait_for_load_state()
    printed = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True)))
    words = " ".join(" ".join(sheet.extract_text() for sheet in printed.pages).split())
    assert len(printed.pages) in (1, 2)
    assert "A pair that we still mix up" in words
    assert re.search(r"1 (Grey Weirgull Dusky|Dusky Weirgull Grey) Weirgull", words), words
    assert sum(len(sheet.images) for sheet in printed.pages) == 2, "a portrait of either form"
    assert "Pale Weirgull" not in words, "nobody has missed it"
    for said in (
        "Gulls at the weir",
        "8:30, the old weir",
        "Wing tip",
        "check the tide table",
        "cross mud",
        "roost",
        "nest",
        "local code of conduct",
    ):
        assert said.casefold() in words.casefold(), said
