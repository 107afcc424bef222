"""In which language a page is told: what one has chosen, what the browser asks for, what the hall speaks."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillhall.store.session import Store
from drillhall.web.languages import tell, tell_n
from drillhall.words import speak
from tests.cast import LEARNER
from tests.visits import WISHES, Hall, open_hall

GERMAN = {"Accept-Language": "fr;q=0.9, de-AT;q=0.8, en;q=0.5"}


def test_a_visitor_reads_the_best_language_that_her_browser_asks_for(hall: Hall) -> None:
    page = hall.visitor().get("/sign-in", headers=GERMAN)
    assert '<html lang="de" dir="ltr">' in page.text
    assert "Anmelden" in page.text
    assert "Accept-Language" in page.headers["Vary"]
    assert "Passphrase zeigen" in page.text


@pytest.mark.parametrize("asked", ["", "fr", "en-US,de;q=0.3", "*", "de;q=0"])
def test_a_visitor_whose_language_is_not_spoken_reads_english(hall: Hall, asked: str) -> None:
    page = hall.visitor().get("/sign-in", headers={"Accept-Language": asked})
    assert '<html lang="en" dir="ltr">' in page.text
    assert "data-words" not in page.text


def test_a_device_is_told_of_the_hall_in_the_visitors_language(hall: Hall) -> None:
    english, german = (hall.visitor().get("/manifest.webmanifest", headers=asked).get_json() for asked in ({}, GERMAN))
    assert (english["lang"], german["lang"], german["dir"]) == ("en", "de", "ltr")
    assert (english["description"], german["description"]) == (
        "Tell look-alike wild species apart: a few minutes a day.",
        "Ähnliche wilde Arten unterscheiden: ein paar Minuten am Tag.",
    )


def test_a_hall_may_speak_german_to_whoever_asks_for_nothing(sqlite_store: Store, tmp_path: Path) -> None:
    hall = open_hall(sqlite_store, tmp_path, language="de")
    assert "Anmelden" in hall.visitor().get("/sign-in").text


def test_what_one_has_chosen_goes_before_what_the_browser_asks_for(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    assert '<html lang="en"' in visitor.get("/settings", headers=GERMAN).text
    assert visitor.post("/settings", WISHES | {"language": "de"}).status_code == 303
    page = visitor.get("/settings")
    assert '<html lang="de"' in page.text
    assert "Accept-Language" not in page.headers.get("Vary", "")
    assert visitor.post("/settings", WISHES | {"language": "xx"}).status_code == 303
    assert '<html lang="de"' in visitor.get("/settings").text


def test_errors_are_told_in_the_readers_language(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    visitor.post("/settings", WISHES | {"language": "de"})
    answer = visitor.post("/settings", WISHES | {"new_a_day": "few"})
    assert answer.status_code == 422
    assert "Paare zum Kennenlernen am Tag muss eine ganze Zahl sein, etwa 10." in answer.text
    told = visitor.get("/nowhere", headers={"Accept": "application/json"})
    assert "Prüfe die Adresse." in told.get_json()["sentence"]


def test_values_are_escaped_and_markup_of_the_sentence_stays() -> None:
    assert tell("For <b>{name}</b>", name="<i>") == "For <b>&lt;i&gt;</b>"
    assert tell("{share:.1f} of {all:,}", share=0.25, all=1234) == "0.2 of 1,234"
    assert tell("{thing}", thing=tell("<b>x</b>")) == "<b>x</b>"
    with speak("de"):
        assert tell_n("{n} waits.", "{n} wait.", 2) == "2 warten."
        assert tell_n("{n} bird", "{n} birds", 1) == "1 bird"
