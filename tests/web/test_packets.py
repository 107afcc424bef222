"""The packet holds what the player needs, in the order it is played, whatever renders its words."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from drillhall.core.values import Sure
from drillhall.practice.packets import Given
from drillhall.web.packets import Numbers, next_words_for, numbers_of, packet_json
from tests.web import sample_drill


class PlainRender:
    """Says what was asked of it, in place of markup."""

    def asked(self, round_view, showing, question):
        return f"asked {showing.id}:{question.place}"

    def answered(self, round_view, showing, question, said, next_words):
        return f"answered {showing.id}:{question.place} {said}, {next_words}"

    def told(self, showing, question):
        return f"alt of {showing.id}", f"marks of {showing.id}:{question.place}"

    def hint_marks(self, showing, question):
        return f"hint of {showing.id}:{question.place}"

    def shown(self, picture):
        return "drawn" if picture.frame else ""

    def two(self, showing):
        return "two" if showing.second else ""

    def meet(self, round_view):
        return f"meet {round_view.pair.id}"

    def address(self, picture, size):
        return f"/{picture.public_id}/{size.recipe}"

    def end_url(self, packet):
        return f"/end/{packet.drill_id}"


def played(packet, answered, left_out=frozenset()):
    """Return the drill with some showings answered, and some that a miss has left out."""
    given = {0: Given("1", Sure.CERTAIN), 1: Given("1", Sure.CERTAIN)}
    rounds = [
        replace(
            one,
            showings=tuple(
                replace(showing, left=showing.id not in {*answered, *left_out}, given=given if showing.id in answered else {})
                for showing in one.showings
            ),
        )
        for one in packet.rounds
    ]
    return replace(packet, rounds=tuple(rounds))


def read(packet):
    return json.loads(json.dumps(packet_json(packet, PlainRender())))


def test_a_packet_survives_being_written_as_json():
    packet = sample_drill.packet()
    written = read(packet)
    assert written["drill"] == packet.drill_id
    assert written["planned_at"] == "2031-03-04T07:00:00+00:00"
    assert [len(one["showings"]) for one in written["rounds"]] == [2, 3]
    assert written["end_url"] == f"/end/{packet.drill_id}"


def test_every_choice_has_its_feedback_and_the_key_is_a_choice():
    for one in read(sample_drill.packet())["rounds"]:
        for showing in one["showings"]:
            for ask in showing["asks"]:
                keys = {choice["key"] for choice in ask["choices"]}
                assert set(ask["feedback_html"]) == keys
                assert ask["answer_key"] in keys


def test_the_questions_of_a_showing_keep_their_order():
    asks = read(sample_drill.packet())["rounds"][0]["showings"][0]["asks"]
    assert [(ask["place"], ask["kind"]) for ask in asks] == [(0, "trait"), (1, "form")]


def test_a_pair_known_already_is_not_met_again():
    met, known = read(sample_drill.packet())["rounds"]
    assert met["meet_html"] == "meet 1"
    assert known["meet_html"] == ""


def test_pictures_beside_an_answer_are_named_once_and_without_the_one_asked():
    showing = read(sample_drill.packet())["rounds"][0]["showings"][0]
    assert showing["beside"] == ["/picture01/large"]
    assert showing["picture"]["url"] == "/picture11/large"
    assert showing["picture"]["srcset"] == "/picture11/small 600w, /picture11/large 1200w"


def test_what_the_hall_knows_already_is_in_the_packet():
    packet = sample_drill.packet()
    first = packet.rounds[0]
    given = replace(first.showings[0], given={0: Given("tip", None), 1: Given("2", Sure.PROBABLE)})
    packet = replace(packet, rounds=(replace(first, showings=(given, *first.showings[1:])), *packet.rounds[1:]))
    written = read(packet)["rounds"][0]["showings"]
    assert written[0]["given"] == {"0": {"said": "tip", "sure": None}, "1": {"said": "2", "sure": "probable"}}
    assert written[1]["given"] == {}


def test_a_question_without_a_hint_offers_none():
    packet = sample_drill.packet()
    first = packet.rounds[0]
    showing = replace(first.showings[1], questions=(replace(first.showings[1].questions[0], hint=""),))
    packet = replace(packet, rounds=(replace(first, showings=(showing,)),))
    assert read(packet)["rounds"][0]["showings"][0]["asks"][0]["hint"] is None


def test_the_time_left_counts_the_picture_in_view_and_is_never_nothing():
    packet = sample_drill.packet()
    assert numbers_of(packet, 1).minutes_left == 7  # 5 pictures at 75 s are 6.25 min
    assert numbers_of(played(packet, {1, 2, 3, 4}), 5) == Numbers(number=5, minutes_left=2)
    assert numbers_of(replace(played(packet, {1, 2, 3, 4}), seconds_a_showing=0.5), 5).minutes_left == 1
    assert numbers_of(played(packet, {1, 2}), 3).number == 3


def test_what_a_miss_has_left_out_is_not_numbered():
    missed = played(sample_drill.packet(), {1}, left_out={2})
    assert numbers_of(missed, 3) == Numbers(number=2, minutes_left=4)
    with pytest.raises(KeyError):
        numbers_of(missed, 2)


def test_a_showing_of_another_drill_has_no_place_in_this_one():
    with pytest.raises(KeyError):
        numbers_of(sample_drill.packet(), 99)


def test_the_button_that_goes_on_says_whereto():
    packet = sample_drill.packet()
    prompted, last = packet.rounds[0].showings[0], packet.rounds[-1].showings[-1]
    assert next_words_for(packet, prompted, prompted.questions[0]) == "Next question"
    assert next_words_for(packet, prompted, prompted.questions[1]) == "Next picture"
    assert next_words_for(played(packet, {1, 2, 3, 4, 5}), last, last.questions[0]) == "How it went"
    first = packet.rounds[0].showings[0]
    assert next_words_for(played(packet, {1}, left_out={2, 3, 4, 5}), first, first.questions[-1]) == "How it went"


def test_a_drill_whose_pictures_were_all_withdrawn_is_an_empty_packet():
    packet = replace(sample_drill.packet(), rounds=(), withdrawn=("picture11",))
    assert read(packet)["rounds"] == []
    assert read(packet)["withdrawn"] == ["picture11"]
