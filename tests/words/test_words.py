"""Every word of the interface: said through the catalogue, translated whole, and told where it is read."""

from __future__ import annotations

import re

import pytest
from babel.messages.catalog import Message

from drillhall.words.speaking import ENGLISH, OFFERED
from tests.words.__main__ import bare_words
from tests.words.checking import problems_of, problems_with, untranslated
from tests.words.extracting import NotWrittenOut, Spoken, spoken_by_room, spoken_in
from tests.words.po_files import translated_languages
from tests.words.rooms import all_rooms, room_of
from tests.words.unmarked import loses_what_is_said, unmarked_errors, unmarked_in_template


@pytest.fixture(scope="module")
def spoken() -> dict[str, list[Spoken]]:
    return spoken_by_room()


@pytest.mark.parametrize("language", translated_languages())
def test_every_language_says_everything(language: str, spoken: dict[str, list[Spoken]]) -> None:
    assert "\n".join(problems_of(language, spoken)) == ""


@pytest.mark.parametrize("language", [language for language in OFFERED if language != ENGLISH])
def test_a_language_on_offer_has_words_for_every_sentence_of_every_room(language: str, spoken: dict[str, list[Spoken]]) -> None:
    assert {room: left for room, said in spoken.items() if (left := untranslated(language, room, said))} == {}


def test_what_nobody_has_translated_is_found(spoken: dict[str, list[Spoken]]) -> None:
    assert untranslated("de", "web", [*spoken["web"], Spoken("Nobody has said this.", "", "", "a.py", 1)]) == ["Nobody has said this."]


def test_no_room_writes_words_past_the_catalogue() -> None:
    assert "\n".join(bare_words(all_rooms())) == ""


OF_BIRDS = {
    "drillhall/core/cautions.py",
    "drillhall/core/topography.py",
    "drillhall/catalogues/editing/value_words.py",
    "templates/catalogue/trait.html",
    "templates/help/parts_of_a_bird.html",
    "templates/help/sources.html",
    "templates/specimens/parts.html",
}
"""Where birds are named: what is told of a catalogue of birds alone, our drawing of one, and invented specimens."""


def test_catalogues_of_any_subject_are_not_told_of_birds(spoken: dict[str, list[Spoken]]) -> None:
    birds, everything = re.compile(r"\bbirds?\b", re.IGNORECASE), [one for room in spoken.values() for one in room]
    assert {one.path for one in everything if birds.search(one.msgid) or birds.search(one.many)} == OF_BIRDS


def test_a_sentence_has_one_plural_or_none(spoken: dict[str, list[Spoken]]) -> None:
    found: dict[tuple[str, str], set[str]] = {}
    for one in (one for room in spoken.values() for one in room):
        found.setdefault(one.key, set()).add(one.many)
    assert {key: many for key, many in found.items() if len(many) > 1} == {}


@pytest.mark.parametrize(
    ("path", "room"),
    [
        ("templates/base.html", "web"),
        ("templates/account/settings.html", "account"),
        ("drillhall/web/account_privacy/own.py", "account"),
        ("drillhall/web/account/door.py", "account"),
        ("drillhall/web/errors.py", "web"),
        ("drillhall/practice/field_tests/pages.py", "field_tests"),
        ("drillhall/practice/reports/progress.py", "practice"),
        ("static/js/drill/player.js", "js"),
        ("drillhall/cli/serve.py", ""),
    ],
)
def test_a_file_belongs_to_a_room(path: str, room: str) -> None:
    assert room_of(path) == room


def test_what_is_said_is_found_wherever_it_stands() -> None:
    python = list(spoken_in("a.py", 'x = say("No {a}." , a=1)\ny = say_n("{n} pair", "{n} pairs", n, ctx="of a set")\nself.say(line)'))
    assert [(one.msgid, one.many, one.ctx, one.line) for one in python] == [
        ("No {a}.", "", "", 1),
        ("{n} pair", "{n} pairs", "of a set", 2),
    ]
    page = list(spoken_in("a.html", '<p>{{ _("Kept for {who}", who=_("you")) }}</p>\n{{ _n("{n} day", "{n} days", n) if n }}'))
    assert {(one.msgid, one.many, one.line) for one in page} == {("Kept for {who}", "", 1), ("you", "", 1), ("{n} day", "{n} days", 2)}
    script = list(spoken_in("a.js", 'say("Say \\"it\\".");\nsayN("{n} answer", "{n} answers", n); essay("no")'))
    assert [(one.msgid, one.many) for one in script] == [('Say "it".', ""), ("{n} answer", "{n} answers")]


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("a.py", "say(words)"),
        ("a.py", 'say(f"No {a}.")'),
        ("a.py", 'say_n("one", many, 2)'),
        ("a.py", 'say("none", ctx=about)'),
        ("a.html", "{{ _(words) }}"),
        ("a.html", '{{ _("a" ~ b) }}'),
        ("a.html", '{{ _n("one", "many") }}'),
    ],
)
def test_a_sentence_that_is_not_written_out_is_refused(path: str, text: str) -> None:
    with pytest.raises(NotWrittenOut):
        list(spoken_in(path, text))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("<p>Bare words</p>", 1),
        ('<p title="Bare">{{ x }}</p>', 1),
        ('<img alt="{{ "a bird" if x }}">', 1),
        ('{{ "was" if one else "were" }}', 2),
        ('{{ button(url_for("a.b"), "End it now") }}', 1),
        ('{% set words = "End it now" %}', 1),
        ('<p>{{ _("Said {b}", b="Bare words") }}</p>', 1),
        ('<p class="soft">{{ _("Said") }}</p>', 0),
        (
            '<a href="{{ url_for("a.b") }}"{% if x == "no" %} aria-current="page"{% endif %}>{{ _n("{n} pair", "{n} pairs", n) }}</a>',
            0,
        ),
        ('<section class="{{ "notice notice-wrong" if x }}"><kbd>Esc</kbd>&prime; 12 <code>drillhall work</code></section>', 0),
        ("{# Bare words #}{% block page_class %} two{% endblock %}", 0),
    ],
)
def test_words_written_into_a_template_are_found(text: str, found: int) -> None:
    assert len(list(unmarked_in_template(text))) == found


def test_errors_and_strings_that_lose_what_is_said_are_found() -> None:
    errors = ['Invalid("Bare.", field="x")', 'NotFound(f"Bare {x}.")', 'Invalid(say("Said."))', "Invalid(sentence)", 'KeyError("bare")']
    errors += [
        'BARE: Final = "Bare."',
        "Conflict(BARE)",
        'SAID = say("Said.")',
        "Conflict(SAID)",
        'Column("key", "Bare")',
        'Column("key", say("Said"))',
    ]
    assert [line for line, _ in unmarked_errors("\n".join(errors))] == [1, 2, 7, 10]
    losses = ["f'{say(x)}.'", "', '.join([say(x)])", "joined(', ', [say(x)])", "say('x {y}', y=f'{z}')"]
    assert [line for line, _ in loses_what_is_said("\n".join(losses))] == [1, 2]


@pytest.mark.parametrize(
    ("english", "words", "wrong"),
    [
        ("Kept for {who}.", "Behalten für {who}.", []),
        ("{n} pair", "", []),
        ("Kept for {who}.", "Behalten für {wen}.", ["has the gaps ['wen']"]),
        ("Kept for {who}.", "Behalten für {who.", ["has gaps that cannot be read: expected '}' before end of string"]),
        ("Kept for <b>you</b>.", "Behalten für dich.", ["has other tags"]),
        ("Kept.", "Behalten!", ["calls out", "ends with another sign"]),
        ("Kept.", " Behalten.", ["has spaces at its ends"]),
        (("{n} pair", "{n} pairs"), ("ein Paar", "{n} Paare"), []),
        (("{n} pair", "{n} pairs"), ("{n} Paar", ""), ["has 1 forms of 2"]),
        (("{n} of {all}", "{n} of {all}"), ("eins", "{n} von {all}"), ["has the gaps []"]),
    ],
)
def test_a_wrong_translation_is_told(english: str | tuple[str, str], words: str | tuple[str, ...], wrong: list[str]) -> None:
    assert list(problems_with(Message(english, words), "de")) == wrong


def test_a_doubtful_translation_is_told() -> None:
    assert list(problems_with(Message("Kept.", "Behalten.", flags={"fuzzy"}), "de")) == ["is marked as doubtful"]
