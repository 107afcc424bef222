"""In which language a page is told, and how templates and JSON tell it."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from flask import Flask, Response, g, has_request_context, request
from flask.json.provider import DefaultJSONProvider
from markupsafe import Markup

from drillhall.web.session import find_person, settings
from drillhall.words import locales, speaking
from drillhall.words.catalogues import catalogue_of
from drillhall.words.said import Value, all_told, value_told
from drillhall.words.speaking import ENGLISH, ask_by, known_language, offered


class _Json(DefaultJSONProvider):
    """JSON in the language of whoever asked for it."""

    def dumps(self, obj: Any, **kwargs: Any) -> str:
        """Return the JSON of a value; what was said in it is told in the language that is spoken."""
        language = speaking()
        return super().dumps(obj if language == ENGLISH else all_told(obj, language), **kwargs)


def init_app(app: Flask) -> None:
    """Let templates say things by `_` and `_n`, and every answer be told in the reader's language; comes before all that may refuse."""
    app.before_request(_begin)
    app.after_request(_vary)
    app.json = _Json(app)
    app.jinja_env.globals.update(
        _=tell, _n=tell_n, speaking=speaking, languages=offered, direction=locales.direction, script_words=script_words
    )
    app.jinja_env.filters.update(number=number, bytes_words=bytes_words, language_words=language_words, in_tongue=in_tongue)
    app.jinja_env.globals.update(foreign=foreign, foreign_tag=foreign_tag)


def language() -> str:
    """Return the language of whoever asks: what she has chosen, else the best that her browser asks for, else the hall's."""
    if not has_request_context() or "language" not in g:
        return ENGLISH
    if not g.language:
        person = find_person()
        chosen = known_language(person.preferences.language) if person else _asked_for()
        g.language = chosen or settings().language
    return str(g.language)


def tell(msgid: str, /, *, ctx: str = "", **values: object) -> Markup:
    """Return a sentence of a template in the language that is spoken; what fills its {gaps} is escaped, its own markup stays.

    `ctx` says what a word is about where English has one word for two things.
    """
    spoken = speaking()
    told = catalogue_of(spoken).find(f"{ctx}\x04{msgid}" if ctx else msgid, None) if spoken != ENGLISH else None
    return _filled(told or msgid, spoken, values)


def tell_n(one: str, many: str, n: int, /, *, ctx: str = "", **values: object) -> Markup:
    """Return the sentence for one or for many in the language that is spoken; {n} in it is the count."""
    spoken = speaking()
    told = catalogue_of(spoken).find(f"{ctx}\x04{one}" if ctx else one, n) if spoken != ENGLISH else None
    return _filled(told or (one if n == 1 else many), spoken, {"n": n} | values)


def number(value: float, spec: str = ",") -> str:
    """Return a number with the signs of the language that is spoken; `spec` is a form of Python's, such as ",", ".1f" or "+.2f"."""
    return locales.number_as(value, spec, speaking())


def bytes_words(count: int) -> str:
    """Return how much so many bytes are, as the language that is spoken writes it: 1.4 MB."""
    return locales.bytes_words(count, speaking())


def language_words(tag: str) -> str:
    """Return what a language is called in the one that is spoken: Deutsch, for de."""
    return locales.language_words(tag, speaking())


def foreign_tag(tag: str) -> str:
    """Return the tag of a language that is not the page's; empty for one that is."""
    return "" if tag.partition("-")[0].casefold() == speaking() else tag


def foreign(tag: str) -> Markup:
    """Return the attribute that names the language of an element's words; empty where it is the page's, or nobody has said."""
    return Markup(' lang="{}"').format(tag) if foreign_tag(tag) else Markup()


def in_tongue(words: str, tag: str) -> str:
    """Return words marked with their language where it is not the page's (WCAG 2.2, 3.1.2), else as they are."""
    attribute = foreign(tag) if words else Markup()
    return Markup("<span{}>{}</span>").format(attribute, value_told(words, speaking())) if attribute else words


def script_words() -> str:
    """Return what scripts need to say things in the language that is spoken, as JSON; empty in English, which they know."""
    return "" if speaking() == ENGLISH else _words_of_scripts(speaking())


@cache
def _words_of_scripts(spoken: str) -> str:
    words, examples = catalogue_of(spoken), locales.plural_examples(spoken)
    told = {
        msgid: {kind: words.find(msgid, count) for kind, count in examples.items()} if has_plural else words.find(msgid, None)
        for msgid, has_plural in words.of_scripts
    }
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))


def _filled(text: str, spoken: str, values: dict[str, object]) -> Markup:
    if not values:
        return Markup(text)  # noqa: S704 - a template's own sentence; the house allows no other as the first argument
    return Markup(text).format_map({name: Value(value, spoken) for name, value in values.items()})  # noqa: S704 - the same


def _asked_for() -> str:
    asked = (known_language(tag) for tag, quality in request.accept_languages if quality > 0)
    return next(filter(None, asked), "")


def _begin() -> None:
    """From here on the language is asked for; Flask itself writes JSON before, when nobody may be looked up yet."""
    g.language = ""
    ask_by(language)


def _vary(response: Response) -> Response:
    if g.get("language") and not g.get("person"):
        response.vary.add("Accept-Language")
    return response
