"""Renders what a packet holds with the very templates of the page without JavaScript."""

from __future__ import annotations

from collections.abc import Mapping
from operator import attrgetter
from typing import Any, Final

from flask import Flask, current_app, g, url_for
from markupsafe import Markup

from drillhall.core.topography import GLOSSARY, is_told
from drillhall.core.values import SURE_WORDS
from drillhall.practice.packets import Choice, CloseUp, Meeting, Packet, PictureView, Question, RoundView, ShowingView, Size
from drillhall.web.drawing import detail_of, ring_drawn, ring_of
from drillhall.web.packets import next_words_for
from drillhall.words import say

TWO_PICTURES = say("Two pictures side by side")
"""What two pictures together are called before the answer: it gives nothing away."""
_BY_VALUE: Final = frozenset({str, Markup, bool, int, type(None), Choice})
_CLOSE_UP: Final = attrgetter("form", "picture", "mark", "state", "language")


def init_app(app: Flask) -> None:
    """Give the templates what they draw and word a drill with."""
    app.jinja_env.globals.update(ring_of=ring_of, ring_drawn=ring_drawn, detail_of=detail_of, picture_address=picture_address)
    app.jinja_env.globals.update(is_told=is_told, part_words=part_words, sure_words=SURE_WORDS, once=once, url_for=address_of)
    app.jinja_env.globals.update(next_words_for=next_words_for, two_pictures=TWO_PICTURES)


def once(macro: Any, *given: Any) -> Any:
    """Return what a macro makes of what it is given, made once in a request: a packet shows many things again and again.

    Words, numbers, choices and sides of an explanation are told apart by what they hold, all else by being itself; what is given must
    not change in a request.
    """
    made = g.setdefault("made_once", {})
    key = (macro, *map(_known_by, given))
    if key not in made:
        made[key] = (macro(*given), given)  # what is given is kept, so that nothing else comes to have its place
    return made[key][0]


def _known_by(given: Any) -> Any:
    kind = type(given)
    if kind in _BY_VALUE:
        return kind, given
    if kind is CloseUp:
        given = _CLOSE_UP(given)
    return tuple(map(_known_by, given)) if type(given) is tuple else id(given)


def address_of(endpoint: str, **values: Any) -> str:
    """Return what `url_for` does, found once in a request: the same few addresses stand on a page hundreds of times."""
    found: dict[Any, str] = g.setdefault("addresses", {})
    key = (endpoint, *values.items())
    if key not in found:
        found[key] = url_for(endpoint, **values)
    return found[key]


def picture_address(picture: PictureView, size: Size | None = None) -> str:
    """Return where the bytes of a picture are, in one of its sizes or else the largest."""
    return address_of("pictures.the_picture", public_id=picture.public_id, recipe=(size or picture.large).recipe)


class TemplateRender:
    """A packet's Render over the app's templates; `meetings` are the pairs to be met, by the pair's id."""

    def __init__(self, meetings: Mapping[int, Meeting]) -> None:
        self._meetings = meetings

    def asked(self, round_view: RoundView, showing: ShowingView, question: Question) -> str:
        """Return the panel that asks the question."""
        return _text(_kind(question).asked(showing, question, round_view, address_of("learner.answer")))

    def answered(self, round_view: RoundView, showing: ShowingView, question: Question, said: str, next_words: str) -> str:
        """Return the panel once `said` was said, with an empty slot for how sure."""
        return _text(_kind(question).answered(showing, question, round_view, said, None, next_words))

    def told(self, showing: ShowingView, question: Question) -> tuple[str, str]:
        """Return the picture's text alternative and its marks once the question is answered."""
        kind = _kind(question)
        return _plain(kind.told_alt(showing, question)), _text(kind.told_marks(showing, question))

    def hint_marks(self, showing: ShowingView, question: Question) -> str:
        """Return the marks that the hint shows."""
        return _text(once(_macros("parts/picture.html").marks, showing.picture, question.hint_mark))

    def shown(self, picture: PictureView) -> str:
        """Return a picture that is more than an image: with a frame, or a ring round one of several; empty for all others."""
        is_drawn = picture.frame is not None or picture.subject is not None
        return _text(_macros("parts/picture.html").drawn(picture, picture.alt, "shown")) if is_drawn else ""

    def two(self, showing: ShowingView) -> str:
        """Return two pictures side by side; empty where there is one."""
        return _text(_macros("parts/picture.html").two(*showing.pictures, TWO_PICTURES)) if showing.second else ""

    def meet(self, round_view: RoundView) -> str:
        """Return the page on which the round's pair is met."""
        meeting = self._meetings[round_view.pair.id]
        return _text(_macros("parts/meeting.html").meet(meeting, address_of("learner.drill"), len(round_view.showings)))

    def address(self, picture: PictureView, size: Size) -> str:
        """Return where the bytes of a picture are."""
        return picture_address(picture, size)

    def end_url(self, packet: Packet) -> str:
        """Return the address of the page that ends the drill."""
        return address_of("learner.drill_end", drill=packet.drill_id)


def part_words(part: str) -> str:
    """Return what a part of the glossary is called in a sentence."""
    return GLOSSARY[part].label


def _macros(name: str) -> Any:
    found = g.setdefault("macros", {})
    if name not in found:
        found[name] = current_app.jinja_env.get_template(name).module
    return found[name]


def _kind(question: Question) -> Any:
    return _macros(f"learner/kinds/{question.kind}.html")


def _text(markup: str) -> str:
    return str(markup).strip()


def _plain(markup: Any) -> str:
    """Return text for an attribute that a script sets: without entities, without the template's line ends."""
    return " ".join(markup.unescape().split())
