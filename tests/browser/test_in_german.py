"""Main pages in German, whose words are longer: at 320 px, and in letters twice as large, nothing sticks out for anybody signed in."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser
from sqlalchemy import update

from drillhall.store.models.people import AccountRow
from tests import cast
from tests.browser.drill.steps import PHONE
from tests.browser.looking import FIT, LARGER, LEAST_WIDE
from tests.browser.seasons_at_work import CLASS, a_season
from tests.browser.test_from_the_right import KEEPERS, LEARNERS
from tests.hall import open_hall

TEACHERS = (*KEEPERS, f"/groups/{CLASS}/field-tests", f"/groups/{CLASS}/reports")
OPEN_ALL = "() => { for (const one of document.querySelectorAll('details')) one.open = true; }"


def test_nothing_sticks_out_of_a_narrow_screen(built_hall: Path, tmp_path: Path, browser: Browser) -> None:
    found = []
    with open_hall(built_hall, tmp_path / "hall") as hall:
        a_season(hall)
        with hall.store.work() as db:
            db.execute(update(AccountRow).values(language="de"))
        for someone, paths in ((cast.LEARNER, LEARNERS), (cast.KEEPER, TEACHERS)):
            with hall.context(browser, someone, viewport=PHONE, service_workers="block") as context:
                page = context.new_page()
                for path in (*paths, "/nowhere"):
                    page.goto(path)
                    assert page.locator("html").get_attribute("lang") == "de", path
                    page.evaluate(OPEN_ALL)
                    page.evaluate(LARGER, "200%")
                    found += [f"{path}, in large letters: {fault}" for fault in page.evaluate(FIT)]
                    page.evaluate(LARGER, "")
                    page.set_viewport_size({"width": LEAST_WIDE, "height": PHONE["height"]})
                    found += [f"{path}, at {LEAST_WIDE} px: {fault}" for fault in page.evaluate(FIT)]
                    page.set_viewport_size(PHONE)
    assert found == []
