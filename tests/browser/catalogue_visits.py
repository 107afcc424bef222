"""The pages on which a catalogue is written, as the walk visits them."""

from __future__ import annotations

from playwright.sync_api import Page

from tests import cast
from tests.browser.measured import measure_bills
from tests.browser.visiting import Values, Visit, send
from tests.hall import Hall
from tests.web.planned import learnt_elsewhere


def small(_hall: Hall) -> Values:
    return {"key": "small-estuary"}


def with_form(_hall: Hall) -> Values:
    return {"key": "small-estuary", "form_key": "sluice_fiddler"}


def with_trait(_hall: Hall) -> Values:
    return {"key": "small-estuary", "trait_key": "bill"}


def with_measures(hall: Hall) -> Values:
    measure_bills(hall)
    return with_trait(hall)


def with_pair(_hall: Hall) -> Values:
    return {"key": "small-estuary", "pair_key": "sluice_fiddler:marsh_fiddler"}


def with_set(_hall: Hall) -> Values:
    return {"key": "small-estuary", "set_key": "fiddlers"}


def learnt_apart(hall: Hall) -> Values:
    return {"key": "small-estuary"} | learnt_elsewhere(hall.store)


def in_german(_hall: Hall) -> Values:
    return {"key": "small-estuary", "tongue": "de", "trait_key": "bill", "pair_key": "sluice_fiddler:marsh_fiddler"}


def ask_without_a_word(page: Page) -> None:
    """Save a question without the word for its trait."""
    page.get_by_label("Question").fill("Welche Form hat der Schnabel?")
    send(page)


def type_a_word(page: Page) -> None:
    """Say another word of how often, and wait until what decides has been worked out from it."""
    page.get_by_label("Sluice Fiddler, adult, Legs: pale").fill("always")
    page.get_by_label("Sluice Fiddler, adult, Legs: dark").fill("never")
    page.locator("[data-worked] tr", has_text="Legs").filter(has_text="decides").wait_for()


def mismeasure(page: Page) -> None:
    """Save a mean that is no number."""
    page.get_by_label("Sluice Fiddler, adult: Mean").fill("long")
    with page.expect_navigation():
        page.get_by_role("button", name="Save", exact=True).click()


def save_stale(page: Page) -> None:
    """Save after somebody else has."""
    page.evaluate("document.querySelector('[name=version]').value = 'older'")
    page.locator("main form textarea[name=note]").first.fill("Look at the bill first.")
    with page.expect_navigation():
        page.get_by_role("button", name="Save", exact=True).click()


CATALOGUE_VISITS = (
    Visit("catalogue.new", who=cast.STRANGER),
    Visit("catalogue.new", "sent empty", who=cast.STRANGER, then=send, expected=422),
    Visit("catalogue.catalogue", who=cast.KEEPER, where=small),
    Visit("catalogue.about", who=cast.KEEPER, where=small),
    Visit("catalogue.about", "after another", who=cast.KEEPER, where=small, then=save_stale, expected=409),
    Visit("catalogue.checks", who=cast.KEEPER, where=small),
    Visit("catalogue.languages", who=cast.KEEPER, where=small),
    Visit("catalogue.language", who=cast.KEEPER, where=in_german),
    Visit("catalogue.trait_words", "without its word", who=cast.KEEPER, where=in_german, then=ask_without_a_word, expected=422),
    Visit("catalogue.pair_words", who=cast.KEEPER, where=in_german),
    Visit("catalogue.concepts", who=cast.KEEPER, where=small),
    Visit("catalogue.concepts", "sent empty", who=cast.KEEPER, where=small, then=send, expected=422),
    Visit("catalogue.join", who=cast.KEEPER, where=learnt_apart),
    Visit("catalogue.new_form", who=cast.KEEPER, where=small),
    Visit("catalogue.form", who=cast.KEEPER, where=with_form),
    Visit("catalogue.new_trait", who=cast.KEEPER, where=small),
    Visit("catalogue.new_trait", "sent empty", who=cast.KEEPER, where=small, then=send, expected=422),
    Visit("catalogue.trait", who=cast.KEEPER, where=with_trait),
    Visit("catalogue.table", who=cast.KEEPER, where=small),
    Visit("catalogue.chances", who=cast.KEEPER, where=with_trait),
    Visit("catalogue.chances", "and what each measures", who=cast.KEEPER, where=with_measures, then=mismeasure, expected=422),
    Visit("catalogue.new_pair", who=cast.KEEPER, where=small),
    Visit("catalogue.pair", who=cast.KEEPER, where=with_pair),
    Visit("catalogue.pair", "without scripts", who=cast.KEEPER, where=with_pair, scripts=False),
    Visit("catalogue.pair", "as one types", who=cast.KEEPER, where=with_pair, then=type_a_word),
    Visit("catalogue.pair", "after another", who=cast.KEEPER, where=with_pair, then=save_stale, expected=409),
    Visit("catalogue.new_set", who=cast.KEEPER, where=small),
    Visit("catalogue.new_set", "sent empty", who=cast.KEEPER, where=small, then=send, expected=422),
    Visit("catalogue.pair_set", who=cast.KEEPER, where=with_set),
    Visit("catalogue.set_file", who=cast.KEEPER, where=with_set),
    Visit("catalogue.set_file", "anothers", who=cast.STRANGER, where=with_set, expected=404),
    Visit("catalogue.shared_set", who=cast.STRANGER, where=lambda _: {"pair_set_id": 1}),
    Visit("catalogue.shared_set", "no such", who=cast.STRANGER, where=lambda _: {"pair_set_id": 99}, expected=404),
    Visit("catalogue.preview", who=cast.KEEPER, where=small),
    Visit("catalogue.changes", who=cast.KEEPER, where=small),
    Visit("catalogue.stewards", who=cast.KEEPER, where=small),
)
