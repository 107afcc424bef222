"""Asking openly over HTTP: making, the block to copy, who may frame the answer, what the audience mixes up, who may ask."""

from __future__ import annotations

import re
from html import unescape

import pytest
from sqlalchemy import select

from drillhall.core.confusion import wilson
from drillhall.store.models.catalogue import CataloguePictureRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.open_questions import OpenAnswerRow, OpenQuestionRow
from drillhall.store.models.pictures import PictureRow, PictureShareRow, RightsRow
from tests.cast import KEEPER, LEARNER, STRANGER
from tests.web.groups.test_groups import make
from tests.web.open_questions.conftest import Asked
from tests.web.open_questions.test_asking import next_day, say


def framing(header: str) -> str:
    return re.findall(r"frame-ancestors ([^;]*)", header)[0]


def test_the_answer_alone_may_be_framed_and_only_where_the_leader_said(asked: Asked) -> None:
    visitor = asked.visitor()
    told = visitor.get(say(asked, visitor))
    usual = visitor.get(asked.link).headers["Content-Security-Policy"]
    assert framing(told.headers["Content-Security-Policy"]) == "https://club.example"
    assert told.headers["Content-Security-Policy"].replace("https://club.example", "'none'") == usual, "nothing else is loosened"
    for page in (visitor.get(asked.link), asked.leader.get(asked.led), visitor.get("/sign-in"), visitor.get(f"{asked.link}/{asked.day}")):
        assert framing(page.headers["Content-Security-Policy"]) == "'none'"
    assert asked.leader.post(asked.led, {"title": "T", "sites": ""}).status_code == 303
    assert framing(visitor.get(say(asked, visitor)).headers["Content-Security-Policy"]) == "'none'"


def test_the_frame_for_a_site_leads_out_of_itself(asked: Asked) -> None:
    next_day(asked)
    page = asked.visitor().get(f"{asked.link}/yesterday")
    assert page.status_code == 200
    assert f'href="{asked.link}" target="_top"' in page.text
    assert "<form" not in page.text
    assert "Set-Cookie" not in page.headers


def test_the_frame_is_offered_from_when_it_answers_and_says_when_that_is(asked: Asked) -> None:
    yesterday = f"{asked.link}/yesterday"
    page = asked.leader.get(asked.led).text
    assert asked.visitor().get(yesterday).status_code == 404
    assert yesterday not in page
    assert "its address stands here from tomorrow on" in page
    next_day(asked)  # by which time she has to sign in again
    assert yesterday in asked.hall.enter(KEEPER, known=True).get(asked.led).text
    assert asked.visitor().get(yesterday).status_code == 200


def test_where_nothing_can_be_asked_it_is_said_which_pictures_there_are_and_what_is_missing(asked: Asked) -> None:
    with asked.hall.store.work() as db:
        for rights in db.scalars(select(RightsRow)):
            rights.licence, rights.licence_url = "LicenseRef-all-rights-reserved", ""
            rights.agreed, rights.may_public = "group", False
        lone = db.scalars(select(PictureRow).join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)).first()
        assert lone is not None
        group, held = db.scalars(select(GroupRow.id)).one(), select(CataloguePictureRow)
        db.scalars(held.where(CataloguePictureRow.picture_id == lone.id)).one().retired_at = asked.hall.clock()
        db.add(PictureShareRow(picture_id=lone.id, group_id=group, shared_at=asked.hall.clock()))
        lone.use = "practice"
    page = re.sub(r"<[^>]+>", "", asked.leader.get(asked.led).text)
    assert "Today it has nothing to ask." in page
    assert re.search(r": the catalogue holds \d+, none for everybody\. \w", page), "why not, in the words of the rights"
    assert "1 is shared with groups of yours, whose people alone see it." in page
    assert "put pictures of yours into the catalogue" in page
    assert "its address stands here once a day that had something to ask has gone by" in page


def test_the_block_to_copy_has_text_picture_link_and_credit_and_no_answer(asked: Asked) -> None:
    page = asked.leader.get(asked.led).text
    block = re.findall(r'<textarea id="block"[^>]*>(.*?)</textarea>', page, re.S)[0]
    assert block.startswith("The Thursday bird. ")
    address = re.findall(r"Picture: (\S+)", block)[0].replace("http://localhost", "")
    assert asked.visitor().get(address).status_code == 200
    assert f"Answer: http://localhost{asked.link}" in block
    assert re.search(r"\nDrawing: .*CC0 1\.0 \(https://creativecommons", block)


def test_the_block_as_html_shows_the_same_and_nothing_beside_it(asked: Asked) -> None:
    page = asked.leader.get(asked.led).text
    block = unescape(re.findall(r'<textarea id="page-block"[^>]*>(.*?)</textarea>', page, re.S)[0])
    assert "<b>The Thursday bird.</b> " in block
    sources = re.findall(r'src="([^"]+)"', block)
    assert len(sources) == 1
    assert asked.visitor().get(sources[0].replace("http://localhost", "")).status_code == 200
    assert re.findall(r'href="(http://localhost[^"]*)"', block) == [f"http://localhost{asked.link}"] * 2
    assert 'href="https://creativecommons' in block
    assert not re.search("script|style|class=|on[a-z]+=", block), "it may stand in any mailing"
    with asked.hall.store.work() as db:
        db.scalars(select(OpenQuestionRow)).one().title = "<b>Ours</b>"
    hostile = unescape(re.findall(r'<textarea id="page-block"[^>]*>(.*?)</textarea>', asked.leader.get(asked.led).text, re.S)[0])
    assert "&lt;b&gt;Ours" in hostile


def test_what_the_audience_mixes_up_is_told_with_its_interval(asked: Asked) -> None:
    """3 of 4 wrong: 30 to 95 in 100 by Wilson's interval at 95 % (tests/checks/test_wilson.py holds the function to its source)."""
    for right in (False, False, False, True):
        say(asked, asked.visitor(), right=right)
    page = asked.leader.get(asked.led).text
    assert "3 of 4" in page
    likely = wilson(3, 4)
    assert f"likely {round(likely.low * 100)} to {round(likely.high * 100)} in 100" in page
    assert (round(likely.low * 100), round(likely.high * 100)) == (30, 95)


def test_a_label_corrected_later_judges_the_answers_anew(asked: Asked) -> None:
    from drillhall.store.models.open_questions import OpenDayRow
    from drillhall.store.models.pictures import PictureRow

    say(asked, asked.visitor(), right=False)
    assert "1 of 1" in asked.leader.get(asked.led).text
    with asked.hall.store.work() as db:
        said = db.scalars(select(OpenAnswerRow.said_form_id)).one()
        db.get_one(PictureRow, db.scalars(select(OpenDayRow.picture_id)).one()).form_id = said
    assert "0 of 1" in asked.leader.get(asked.led).text


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"title": " "}, "Give the question a title"),
        ({"title": "x" * 121}, "120 letters at most"),
        ({"set": "999"}, "Choose one of the pair sets"),
        ({"set": "x"}, "The pair set: choose one of those shown."),
        ({"sites": "club.example"}, "no site&#39;s address"),
        ({"sites": "https://club.example; script-src *"}, "no site&#39;s address"),
    ],
)
def test_a_question_that_will_not_do_is_shown_again_and_not_made(asked: Asked, fields: dict[str, str], sentence: str) -> None:
    answer = asked.leader.post(f"{asked.group}/open-questions", {"title": "T", "set": "1", "sites": ""} | fields)
    assert answer.status_code == 422
    assert sentence in answer.text
    with asked.hall.store.look() as db:
        assert len(db.scalars(select(OpenQuestionRow)).all()) == 1


def test_a_group_asks_ten_at_most(asked: Asked) -> None:
    answers = [asked.leader.post(f"{asked.group}/open-questions", {"title": "T", "set": "1", "sites": ""}).status_code for _ in range(10)]
    assert answers == [303] * 9 + [409]


def test_others_neither_see_nor_change_nor_end_it(asked: Asked) -> None:
    stranger, member = asked.hall.enter(STRANGER, known=True), asked.hall.enter(LEARNER, known=True)
    own = make(stranger, "Her own")
    foreign = asked.led.replace(asked.group, own)
    for path in (asked.led, foreign):
        assert stranger.get(path).status_code == 404
        assert stranger.post(path, {"title": "Mine", "sites": ""}).status_code == 404
        assert stranger.post(f"{path}/end").status_code == 404
    assert member.get(asked.led).status_code == 404
    with asked.hall.store.look() as db:
        row = db.scalars(select(OpenQuestionRow)).one()
        assert (row.title, row.ended_at) == ("The Thursday bird", None)


def test_the_secret_it_is_drawn_by_is_on_no_page(asked: Asked) -> None:
    with asked.hall.store.look() as db:
        seed = db.scalars(select(OpenQuestionRow.seed)).one()
    assert len(seed) == 64
    visitor = asked.visitor()
    for page in (asked.leader.get(asked.led), visitor.get(asked.link), visitor.get(say(asked, visitor))):
        assert seed not in page.text
