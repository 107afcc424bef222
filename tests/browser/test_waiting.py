"""What takes a while says so once it has begun, and cannot be begun twice."""

from __future__ import annotations

from playwright.sync_api import Browser, expect

from drillhall.store.models.practice import MemoryRow
from drillhall.store.queries.learner import taken_pairs
from tests.cast import LEARNER
from tests.hall import Hall


def test_fitting_tells_that_it_goes_on(hall: Hall, browser: Browser) -> None:
    account, today = hall.people[LEARNER].id, hall.clock().date()
    with hall.store.work() as db:
        row = MemoryRow(account_id=account, pair_id=taken_pairs(db, account, on=today)[0].id, stability_days=9.0, difficulty=5.0)
        row.last_day, row.due_day, row.rounds, row.held_running, row.last_outcome, row.recalled = today, today, 400, 2, "held", []
        db.add(row)
    with hall.context(browser, LEARNER, viewport={"width": 360, "height": 740}) as context:
        page = context.new_page()
        page.goto("/standing/own-numbers")
        expect(page.get_by_role("progressbar")).to_be_hidden()
        # Nothing is sent, so that the page stays as it is while she waits.
        page.evaluate("document.querySelector('form[data-waits]').addEventListener('submit', (event) => event.preventDefault())")
        page.get_by_role("button", name="Fit to my rounds").click()
        expect(page.get_by_role("progressbar", name="Fitting to 400 rounds")).to_be_visible()
        expect(page.get_by_role("button", name="Fit to my rounds")).to_be_disabled()
