"""What a packet holds of a question is what its page shows, whether many pictures share it or not."""

from __future__ import annotations

import re

from tests.visits import Hall, Visitor
from tests.web.learner.test_drill import answers_to, begin, send

PANEL = re.compile(r'<form class="panel" role="none".*?</form>', re.DOTALL)
SURE = re.compile(r"<span data-sure>[^<]*</span>")
NEXT = re.compile(r"<button class=\"act\" data-next>[^<]*</button>")


def plain(panel: str) -> str:
    """Return a panel without how sure she was and where it goes on, which the player puts in by itself."""
    return NEXT.sub("", SURE.sub("", panel)).strip()


def test_every_panel_of_a_packet_is_the_one_of_the_page(hall: Hall, learner: Visitor) -> None:
    packet = begin(learner)
    asks = {(showing["showing"], ask["place"]): ask for one in packet["rounds"] for showing in one["showings"] for ask in showing["asks"]}
    answers = answers_to(packet, hall.clock().isoformat())
    for place, answer in enumerate(answers):  # every second one is missed, so that both panels of a pair are compared
        others = [one["key"] for one in asks[answer["showing"], answer["ask"]]["choices"] if one["key"] != answer["said"]]
        answer["said"] = others[0] if place % 2 else answer["said"]
    send(learner, answers)
    told = {}
    for answer in answers[:8]:
        panel = PANEL.search(learner.get(f"/drill?showing={answer['showing']}&ask={answer['ask']}").text)
        assert panel is not None
        told[answer["id"]] = plain(panel[0])
        assert told[answer["id"]] == plain(asks[answer["showing"], answer["ask"]]["feedback_html"][answer["said"]])
    assert len(set(told.values())) > len(told) / 2, "panels of other pictures are other panels"


def test_the_question_of_a_packet_is_the_one_of_the_page(hall: Hall, learner: Visitor) -> None:
    first = begin(learner)["rounds"][0]
    page = learner.get(f"/drill?met={first['round']}").text
    asked = re.sub(r'\s*<input type="hidden"[^>]*>', "", page)
    kept = first["showings"][0]["asks"][0]["question_html"]
    assert re.sub(r"\s+", " ", kept) in re.sub(r"\s+", " ", asked)
