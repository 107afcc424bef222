"""A sentence is English to whoever compares it, and told in another language to whoever reads that."""

from __future__ import annotations

import pickle
from copy import deepcopy
from datetime import date
from pathlib import Path

import pytest
from markupsafe import Markup

from drillhall.words import joined, listed, locales, say, say_n, speak, speaking
from drillhall.words.catalogues import catalogue_of, read_words
from drillhall.words.said import Said, all_told
from drillhall.words.speaking import LANGUAGES, OFFERED, known_language, offered


def test_what_is_said_is_its_english_text() -> None:
    said = say("That is too long: {most} letters at most.", most=60)
    assert said == "That is too long: 60 letters at most."
    assert {said: 1} == {str(said): 1}
    assert isinstance(said, str)


@pytest.mark.parametrize(
    ("said", "german"),
    [
        (say("That is too long: {most} letters at most.", most=60), "Das ist zu lang: höchstens 60 Zeichen."),
        (say("{label} is not given. Choose a day.", label=say("Days")), "Tage fehlt. Wähle einen Tag."),
        (say("made {day}", day=date(2031, 3, 9)), "angelegt 9. März 2031"),
        (say("{right} of {shown}", right=0.5, shown="<b>"), "0.5 von <b>"),
        (say_n("{n} waits.", "{n} wait.", 1), "1 wartet."),
        (say_n("{n} waits.", "{n} wait.", 2), "2 warten."),
        (say("Missed", ctx="of an answer"), "Verfehlt"),
        (say("You") + ": " + say("Names"), "Du: Namen"),
        (joined("; ", [say("You"), "x"]), "Du; x"),
        (listed([say("You"), "x", say("Names")]), "Du, x und Namen"),
        (say("none").capitalize(), "Nichts"),
        (say("over since {day}").filled(day=3), "vorbei seit 3"),
        (say("Nobody has translated this {thing}.", thing=say("You")), "Nobody has translated this Du."),
    ],
)
def test_it_is_told_in_another_language_whole(said: Said, german: str) -> None:
    assert said.told("de") == german
    assert said.told("en") == said
    for copied in (deepcopy(said), pickle.loads(pickle.dumps(said))):
        assert (copied, copied.told("de")) == (said, german)


def test_markup_shows_it_in_the_language_that_is_spoken_and_escaped() -> None:
    said = say("by {name}", name="<i>")
    assert Markup("<b>{x}</b>").format(x=said) == "<b>by &lt;i&gt;</b>"
    with speak("de"):
        assert speaking() == "de"
        assert Markup("<b>{x}</b>").format(x=said) == "<b>von &lt;i&gt;</b>"
    assert speaking() == "en"


def test_json_is_told_however_deep() -> None:
    value = {"a": [say("You"), ("x", say("Names"))], say("Days"): None}
    assert all_told(value, "de") == {"a": ["Du", ["x", "Namen"]], "Tage": None}


@pytest.mark.parametrize(("tag", "language"), [("de-AT", "de"), ("EN_gb", "en"), ("fr", ""), ("", ""), ("../en", "")])
def test_a_tag_means_a_language_of_the_hall_or_none(tag: str, language: str) -> None:
    assert known_language(tag) == language


def test_a_language_that_is_kept_and_not_offered_is_nobodys_choice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(LANGUAGES, "fr", "Français")
    assert known_language("fr-CA") == ""
    assert offered() == {"en": "English", "de": "Deutsch"}
    assert set(OFFERED) <= set(LANGUAGES)


def test_doubtful_and_empty_translations_count_as_not_said(tmp_path: Path) -> None:
    (tmp_path / "a.po").write_text(
        '#, fuzzy\nmsgid "One"\nmsgstr "Eins"\n\nmsgid "Two"\nmsgstr ""\n\nmsgid "Three"\nmsgstr "Drei"\n', encoding="utf-8"
    )
    assert dict(read_words(tmp_path, "de").forms) == {"Three": ("Drei",)}


# Unicode CLDR: Polish has one, few, many; Arabic is written from the right, and has six forms.
def test_other_languages_have_other_forms_and_ways_of_writing(tmp_path: Path) -> None:
    forms = "\n".join(f'msgstr[{place}] "{word}"' for place, word in enumerate(("one", "few", "many", "other")))
    (tmp_path / "a.po").write_text(f'msgid "{{n}} pair"\nmsgid_plural "{{n}} pairs"\n{forms}\n', encoding="utf-8")
    words = read_words(tmp_path, "pl")
    assert [words.find("{n} pair", count) for count in (1, 2, 5)] == ["one", "few", "many"]
    assert (locales.direction("ar"), locales.direction("de")) == ("rtl", "ltr")
    assert set(locales.plural_examples("ar")) == {"zero", "one", "two", "few", "many", "other"}


def test_a_language_without_words_says_english() -> None:
    assert catalogue_of("fr").find("You", None) is None
    assert say("You").told("fr") == "You"


# Unicode CLDR 47 and Babel: British days have no comma, German ones a point; numbers change their signs.
def test_dates_and_numbers_are_written_as_the_language_does() -> None:
    on = date(2031, 9, 7)
    assert [locales.weekday_words(on, language, with_year=True) for language in ("en", "de")] == [
        "Sunday 7 September 2031",
        "Sonntag, 7. September 2031",
    ]
    assert [locales.weekday_words(on, language, with_year=False) for language in ("en", "de")] == [
        "Sunday 7 September",
        "Sonntag, 7. September",
    ]
    assert [locales.number_as(-1234.5, "+,.1f", language) for language in ("en", "de")] == ["-1,234.5", "-1.234,5"]


@pytest.mark.parametrize(
    ("count", "english", "german"),
    [
        *((0, "0 bytes", "0 Byte"), (1, "1 byte", "1 Byte"), (2, "2 bytes", "2 Byte"), (999, "999 bytes", "999 Byte")),
        *((1000, "1 kB", "1 kB"), (1_400_000, "1.4 MB", "1,4 MB")),
    ],
)
def test_a_size_has_its_plural_in_each_language(count: int, english: str, german: str) -> None:
    told = [locales.bytes_words(count, language).replace("\N{NO-BREAK SPACE}", " ") for language in ("en", "de")]
    assert told == [english, german]
