"""A framed picture in the drill: cut where its licence allows that, else the same part zoomed in on the whole, with and without scripts."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Locator, Page, expect
from sqlalchemy import select

from drillhall.core.licences import LICENCES
from drillhall.core.regions import Region
from drillhall.core.rights import Rights
from drillhall.pictures import framing
from drillhall.pictures.rights import write_rights
from drillhall.store.models.pictures import MarkRow, PictureRow
from tests.browser.drill.steps import PHONE, answer, asked, begin_round, start
from tests.cast import KEEPER, LEARNER
from tests.hall import Hall

FRAME = Region(0.1, 0.1, 0.8, 0.8)
"""Of 480 × 360 pixels: 384 × 288 of them, from 48, 36 on."""


def frame_all(hall: Hall, licence: str, *, several: bool = False) -> None:
    """Give every picture of the hall a licence and a frame, and, if wanted, a mark that says which of several is meant."""
    keeper, day = hall.people[KEEPER].id, hall.clock.now.date()
    with hall.store.work() as db:
        for picture in db.scalars(select(PictureRow)).all():
            write_rights(db, hall.storage, picture.id, Rights("Pell", LICENCES[licence], "Pell"))
            new = framing.make_cut(db, hall.storage, keeper, picture.public_id, FRAME, on=day)
            framing.set_frame(db, hall.storage, keeper, picture.public_id, new)
            if several:
                picture.several = True
                db.add(MarkRow(picture_id=picture.id, trait_id=None, x=0.3, y=0.3, width=0.3, height=0.3))


def shown(page: Page) -> Locator:
    return page.locator("[data-picture] > #shown")


@pytest.mark.parametrize("scripts", [True, False])
def test_under_cc_by_the_cut_is_served(hall: Hall, browser: Browser, scripts: bool) -> None:
    frame_all(hall, "CC-BY-4.0")
    with hall.context(browser, LEARNER, viewport=PHONE, java_script_enabled=scripts) as context:
        page = context.new_page()
        to_question(page, scripts=scripts)
        page.wait_for_load_state("load")
        assert page.evaluate("[shown.tagName, shown.complete, shown.width > 0]") == ["IMG", True, True]
        assert page.evaluate("[shown.getAttribute('width'), shown.getAttribute('height')]") == ["384", "288"]
        expect(asked(page)).to_contain_text("cut")
        assert page.get_by_text("See the whole picture").count() == 0


@pytest.mark.parametrize("scripts", [True, False])
def test_under_no_derivatives_the_whole_is_served_and_zoomed_in_on(hall: Hall, browser: Browser, scripts: bool) -> None:
    frame_all(hall, "CC-BY-ND-4.0")
    with hall.context(browser, LEARNER, viewport=PHONE, java_script_enabled=scripts) as context:
        page = context.new_page()
        to_question(page, scripts=scripts)
        assert shown(page).get_attribute("viewBox") == "48 36 384 288"
        assert shown(page).get_attribute("role") == "img"
        assert shown(page).get_attribute("aria-label")
        see = page.get_by_role("link", name="See the whole picture")
        if not scripts:
            with page.expect_navigation():
                see.click()
            assert page.evaluate("document.images[0].naturalWidth") == 480
            return
        see.click()
        assert shown(page).get_attribute("viewBox") == "0 0 480 360"
        expect(page.locator("[data-status]")).to_have_text("The whole picture is shown.")
        page.get_by_role("link", name="Back to the part").click()
        assert shown(page).get_attribute("viewBox") == "48 36 384 288"
        alt = shown(page).get_attribute("aria-label")
        answer(page)
        assert shown(page).get_attribute("aria-label") != alt, "once answered it tells what it shows"
        assert page.locator("[data-picture] .marks").get_attribute("viewBox") == "48 36 384 288"
        next_one(page)
        expect(shown(page)).to_have_attribute("viewBox", "48 36 384 288")


@pytest.mark.parametrize(("licence", "box"), [("CC-BY-4.0", "0 0 384 288"), ("CC-BY-ND-4.0", "48 36 384 288")])
@pytest.mark.parametrize("scripts", [True, False])
def test_which_of_several_is_ringed_from_the_start(hall: Hall, browser: Browser, licence: str, box: str, scripts: bool) -> None:
    frame_all(hall, licence, several=True)
    with hall.context(browser, LEARNER, viewport=PHONE, java_script_enabled=scripts) as context:
        page = context.new_page()
        to_question(page, scripts=scripts)
        expect(shown(page).locator(".ring")).to_be_visible()
        assert shown(page).get_attribute("viewBox") == box
        assert "The one in the ring is meant." in (shown(page).get_attribute("aria-label") or "")


def to_question(page: Page, *, scripts: bool) -> None:
    if scripts:
        start(page)
        begin_round(page)
        return
    page.goto("/")
    page.get_by_role("button", name=re.compile("Start today's drill")).click()
    page.get_by_role("link", name=re.compile("Try a round")).click()


def next_one(page: Page) -> None:
    page.wait_for_timeout(400)
    page.locator("[data-next]:visible").click()
    begin_round(page)
