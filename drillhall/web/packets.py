"""Puts today's drill into the packet that the player plays without the network: what is said in it is rendered beforehand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

from drillhall.core.rounds.minutes import minutes_told
from drillhall.core.values import Sure
from drillhall.practice.packets import Packet, PictureView, Question, RoundView, ShowingView, Size
from drillhall.words import say

NEXT_PICTURE = say("Next picture")
HOW_IT_WENT = say("How it went")


class Render(Protocol):
    """What a packet needs rendered: the words and drawings that the page without JavaScript shows too."""

    def asked(self, round_view: RoundView, showing: ShowingView, question: Question) -> str:
        """Return the panel that asks the question."""

    def answered(self, round_view: RoundView, showing: ShowingView, question: Question, said: str, next_words: str) -> str:
        """Return the panel once `said` was said, with an empty slot for how sure."""

    def told(self, showing: ShowingView, question: Question) -> tuple[str, str]:
        """Return the picture's text alternative and its marks once the question is answered."""

    def hint_marks(self, showing: ShowingView, question: Question) -> str:
        """Return the marks that the hint shows."""

    def shown(self, picture: PictureView) -> str:
        """Return a picture that is more than an image: with a frame, or a ring round one of several; empty for all others."""

    def two(self, showing: ShowingView) -> str:
        """Return two pictures side by side; empty where there is one."""

    def meet(self, round_view: RoundView) -> str:
        """Return the page on which the round's pair is met."""

    def address(self, picture: PictureView, size: Size) -> str:
        """Return where the bytes of a picture are."""

    def end_url(self, packet: Packet) -> str:
        """Return the address of the page that ends the drill."""


@dataclass(frozen=True, slots=True)
class Numbers:
    """Where a showing stands in its drill: the how-manieth picture, and the minutes left from it on."""

    number: int
    minutes_left: int


def numbers_of(packet: Packet, showing_id: int) -> Numbers:
    """Return where a showing stands among those that are shown, answered or still to come, or raise KeyError."""
    showings = [showing for round_view in packet.rounds for showing in round_view.showings if showing.left or showing.given]
    ids = [showing.id for showing in showings]
    if showing_id not in ids:
        raise KeyError(showing_id)
    before = sum(not showing.left and showing.id != showing_id for showing in showings)
    return Numbers(number=before + 1, minutes_left=minutes_told(len(ids) - before, packet.seconds_a_showing))


def next_words_for(packet: Packet, showing: ShowingView, question: Question) -> str:
    """Return the words of the button that goes on after a question; the player puts others once nothing is left."""
    if question.place != showing.questions[-1].place:
        return say("Next question")
    left = any(other.left and other.id != showing.id for round_view in packet.rounds for other in round_view.showings)
    return NEXT_PICTURE if left else HOW_IT_WENT


def packet_json(packet: Packet, render: Render) -> dict[str, Any]:
    """Return the packet as the player reads it."""
    return {
        "drill": packet.drill_id,
        "planned_at": packet.planned_at.isoformat(),
        "until": packet.until.isoformat(),
        "minutes": packet.minutes,
        "withdrawn": list(packet.withdrawn),
        "single_keys": packet.single_keys,
        "letter_keys": packet.letter_keys,
        "seconds_a_showing": packet.seconds_a_showing,
        "words": {"next_picture": NEXT_PICTURE, "how_it_went": HOW_IT_WENT, **{sure.value: sure.words for sure in Sure}},
        "end_url": render.end_url(packet),
        "rounds": [
            {
                "round": round_view.id,
                "pair": round_view.pair.id,
                "why": round_view.why_words,
                "ends_at_miss": round_view.ends_at_miss,
                "spare": round_view.spare,
                "meet_html": render.meet(round_view) if round_view.meet else "",
                "showings": [_showing(packet, round_view, showing, render) for showing in round_view.showings],
            }
            for round_view in packet.rounds
        ],
    }


def _showing(packet: Packet, round_view: RoundView, showing: ShowingView, render: Render) -> dict[str, Any]:
    return {
        "showing": showing.id,
        "picture": _picture(showing.picture, render),
        "second": _picture(showing.second, render) if showing.second else None,
        "two_html": render.two(showing),
        "beside": _beside(showing, render),
        "rendition": showing.rendition.value,
        "first_sight": showing.first_sight,
        "third": showing.third,
        "asks": [_ask(packet, round_view, showing, question, render) for question in showing.questions],
        "given": {str(place): {"said": given.said, "sure": given.sure and given.sure.value} for place, given in showing.given.items()},
    }


def _picture(picture: PictureView, render: Render) -> dict[str, Any]:
    return {
        "id": picture.public_id,
        "url": render.address(picture, picture.large),
        "srcset": ", ".join(f"{render.address(picture, size)} {size.width_px}w" for size in picture.sizes),
        "width": picture.width_px,
        "height": picture.height_px,
        "alt": picture.alt,
        "shown_html": render.shown(picture),
    }


def _beside(showing: ShowingView, render: Render) -> list[str]:
    """Return the addresses of the pictures that stand beside the one asked, or that explanations show beside it, to be there in time."""
    told = [question.explained for question in showing.questions if question.explained]
    pictures = [*showing.pictures[1:]]
    pictures += [close.picture for explained in told for close in (explained.first, explained.second) if close.picture]
    addresses = [render.address(picture, picture.large) for picture in pictures if picture.public_id != showing.picture.public_id]
    return list(dict.fromkeys(addresses))


def _ask(packet: Packet, round_view: RoundView, showing: ShowingView, question: Question, render: Render) -> dict[str, Any]:
    alt, marks = render.told(showing, question)
    next_words = next_words_for(packet, showing, question)
    return {
        "kind": question.kind,
        "place": question.place,
        "question_html": render.asked(round_view, showing, question),
        "choices": [{"key": choice.key, "label": choice.label} for choice in question.choices],
        "answer_key": question.key,
        "feedback_html": {
            choice.key: render.answered(round_view, showing, question, choice.key, next_words) for choice in question.choices
        },
        "told": {"alt": alt, "marks_html": marks},
        "hint": {"words": question.hint, "marks_html": render.hint_marks(showing, question)} if question.hint else None,
    }
