"""Today, where I stand, a pair, and the shelf."""

from __future__ import annotations

from html import unescape

import pytest
from sqlalchemy import update

from drillhall.practice import reviewing
from drillhall.store.models.catalogue import PairSetRow
from tests import cast
from tests.hall import MADE_AT
from tests.practice.small_hall import SmallHall
from tests.visits import Hall, Visitor
from tests.web.learner.test_drill import answers_to, begin, send


def words(visitor: Visitor, path: str) -> str:
    answer = visitor.get(path)
    assert answer.status_code == 200
    return " ".join(unescape(answer.text).split())


def test_a_newcomer_is_told_what_to_do_first(hall: Hall, small: SmallHall) -> None:
    newcomer = hall.enter(cast.STRANGER)
    page = words(newcomer, "/")
    assert "Nothing to drill yet" in page
    assert "Take a pair set from the shelf" in page
    with hall.store.work() as db:
        db.execute(update(PairSetRow).values(retired_at=MADE_AT))
    page = words(newcomer, "/")
    assert 'The shelf holds no pair set yet: <a href="/catalogues">write one' in page
    assert "from the shelf" not in page


def test_a_set_is_taken_from_the_shelf_and_put_back(hall: Hall, small: SmallHall) -> None:
    newcomer = hall.enter(cast.STRANGER)
    assert "First mudpipers" in words(newcomer, "/shelf")
    assert newcomer.post(f"/shelf/{small.pair_set}/take").location == "/"
    assert "Start today's drill" in words(newcomer, "/")
    assert newcomer.post(f"/shelf/{small.pair_set}/put-back").location == "/shelf"
    assert "Nothing to drill yet" in words(newcomer, "/")


def test_first_steps_stand_on_today_until_they_are_put_away(hall: Hall, learner: Visitor) -> None:
    page = words(learner, "/")
    assert "Drill it: name the first form" in page
    assert learner.get("/first-steps/learning/put-away").status_code == 405
    assert learner.post("/first-steps/flying/put-away").status_code == 404
    assert learner.post("/first-steps/learning/put-away").location == "/"
    assert "First steps" not in words(learner, "/")


def test_first_steps_that_were_put_away_are_brought_back_under_you(learner: Visitor) -> None:
    assert "Bring the first steps back" not in words(learner, "/settings")
    learner.post("/first-steps/learning/put-away")
    assert "Bring the first steps back" in words(learner, "/settings")
    assert learner.get("/first-steps/bring-back").status_code == 405
    assert learner.post("/first-steps/bring-back").location == "/"
    assert "First steps" in words(learner, "/")


def test_today_says_what_is_in_the_drill_and_why(learner: Visitor) -> None:
    page = words(learner, "/")
    assert "3 pairs" in page
    assert "New today: you meet them first" in page
    assert "Lesser mudpiper" in page


def test_the_cautions_stand_before_a_new_learner_and_at_the_end_of_her_drill(hall: Hall, learner: Visitor) -> None:
    page = words(learner, "/")
    assert 'aria-label="Cautions"' in page
    assert "A drill is practice, not proof" in page
    assert "local records committee" in page
    assert "Tide and mud kill" in page
    packet = begin(learner)
    send(learner, answers_to(packet, hall.clock().isoformat()))
    end = words(learner, "/drill/end")
    assert "A drill is practice, not proof" in end
    assert "local records committee" in end


def test_the_cautions_leave_today_once_a_learner_is_no_longer_new(hall: Hall, learner: Visitor) -> None:
    for _ in range(3):
        packet = begin(learner)
        send(learner, answers_to(packet, hall.clock().isoformat()))
        hall.clock.move(days=1)
        learner = hall.enter(cast.LEARNER, known=True)
    assert 'aria-label="Cautions"' not in words(learner, "/")


def test_a_drill_begun_is_offered_again(hall: Hall, learner: Visitor) -> None:
    packet = begin(learner)
    send(learner, answers_to(packet, hall.clock().isoformat())[:1])
    assert "Go on with today's drill" in words(learner, "/")


def test_what_was_missed_while_certain_is_looked_at_again(hall: Hall, learner: Visitor) -> None:
    answers = answers_to(begin(learner), hall.clock().isoformat())
    first = next(one for one in answers if one["sure"])
    others = {one["said"] for one in answers if one["sure"] and one["said"] != first["said"]}
    first["said"] = next(said for said in sorted(others) if send(learner, [first | {"said": said}]).get_json()["stored"])
    hall.clock.move(days=1)
    page = words(hall.enter(cast.LEARNER, known=True), "/")
    assert "Look again." in page
    assert "Yesterday you were certain of" in page


def test_what_falls_due_this_week_is_said_by_day(hall: Hall, learner: Visitor) -> None:
    send(learner, answers_to(begin(learner), hall.clock().isoformat()))
    assert "Coming up" in words(learner, "/")


def test_standing_tells_both_directions_with_their_intervals(hall: Hall, learner: Visitor) -> None:
    assert "3 unmet" in words(learner, "/standing")
    send(learner, answers_to(begin(learner), hall.clock().isoformat()))
    page = words(learner, "/standing")
    assert "3 shaky" in page
    assert "0 unmet" in page
    assert "likely" in page
    assert "How sure, how right" in page
    assert "said certain, right in" in page
    assert "not said yet" in page


def test_standing_tells_how_sure_in_one_figure(hall: Hall, learner: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reviewing, "SURE_ENOUGH", 9)
    send(learner, answers_to(begin(learner), hall.clock().isoformat()))
    page = learner.get("/standing").text  # nine said to be certain, of chance .95, and right: .05 squared
    assert '<b class="num">0.003</b>. The lower the better' in page


def test_standing_without_anything_says_so(hall: Hall, small: SmallHall) -> None:
    assert "Nothing yet" in words(hall.enter(cast.STRANGER), "/standing")


def test_a_pair_shows_what_decides_and_what_misleads(learner: Visitor, small: SmallHall) -> None:
    page = words(learner, f"/pairs/{small.pairs[0]}")
    assert "decides" in page
    assert "misleads" in page
    assert "Shore mudpiper" in page, "the third that shares the misleading trait"


@pytest.mark.parametrize("pair", [0, 999])
def test_a_pair_that_is_not_hers_is_not_there(learner: Visitor, pair: int) -> None:
    assert learner.get(f"/pairs/{pair}").status_code == 404


def test_a_pair_of_a_set_not_taken_is_not_there(hall: Hall, small: SmallHall) -> None:
    assert hall.enter(cast.STRANGER).get(f"/pairs/{small.pairs[0]}").status_code == 404


def test_a_set_that_does_not_exist_cannot_be_taken(learner: Visitor) -> None:
    assert learner.post("/shelf/999/take").status_code == 404


@pytest.mark.parametrize("path", ["/", "/drill", "/standing", "/shelf", "/pairs/1", "/drill/end"])
def test_a_visitor_is_sent_to_sign_in(hall: Hall, path: str) -> None:
    answer = hall.visitor().get(path)
    assert answer.status_code == 303
    assert "/sign-in" in answer.location
