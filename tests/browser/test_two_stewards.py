"""Two stewards at one trait, each in a browser of her own: the second is shown both, and either choice holds."""

from __future__ import annotations

from playwright.sync_api import Browser, Page, expect

from drillhall.catalogues.stewards import add_steward
from tests import cast
from tests.hall import Hall

TRAIT = "/catalogues/small-estuary/traits/bill"
PHONE = {"width": 360, "height": 740}


def ask(page: Page, words: str) -> None:
    page.get_by_label("Question", exact=True).fill(words)
    page.get_by_role("button", name="Save", exact=True).click()


def test_the_second_sees_both_and_chooses(hall: Hall, browser: Browser) -> None:
    with hall.store.work() as db:
        add_steward(db, 1, hall.people[cast.LEARNER].id)
    first, second = hall.context(browser, cast.KEEPER).new_page(), hall.context(browser, cast.LEARNER, viewport=PHONE).new_page()
    for page in (first, second):
        page.goto(TRAIT)
    ask(first, "Is the bill bent?")
    expect(first.get_by_role("alert")).to_have_count(0)
    ask(second, "Straight or bent?")
    told = second.get_by_role("alert")
    expect(told).to_contain_text(f"{cast.KEEPER.name} changed this")
    both = second.get_by_role("region", name="Both side by side").get_by_role("cell").all_inner_texts()
    assert both == ["Is the bill bent?", "Straight or bent?"]
    expect(second.get_by_label("Question", exact=True)).to_have_value("Straight or bent?")
    assert second.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
    first.reload()
    expect(first.get_by_label("Question", exact=True)).to_have_value("Is the bill bent?")
    second.get_by_role("button", name="Save", exact=True).click()
    expect(second.get_by_role("alert")).to_have_count(0)
    ask(first, "What is its bill like?")
    expect(first.get_by_role("alert")).to_contain_text(f"{cast.LEARNER.name} changed this")
    first.get_by_role("link", name="Leave mine, take what it says now").click()
    expect(first.get_by_label("Question", exact=True)).to_have_value("Straight or bent?")
