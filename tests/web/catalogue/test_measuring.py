"""A measured trait written in the browser: its worth at the pair, refusals by field, history, and the folder that comes back."""

from __future__ import annotations

import pytest

from tests.web.catalogue.test_keeping import latest_undo
from tests.web.catalogue.writing import PAIR, Written

BILL = {"label": "Bill length", "part": "bill", "kind": "size", "unit": "mm"}
FORMS = "/traits/bill_length/forms"
GREY, PALE = "grey_weirgull_adult.bill_length", "pale_weirgull.bill_length"
MEASURED = {f"mean.{GREY}": "38", f"spread.{GREY}": "2", f"n.{GREY}": "40", f"mean.{PALE}": "44", f"spread.{PALE}": "3,0", f"n.{PALE}": ""}


@pytest.fixture
def measured(gulls: Written) -> Written:
    assert gulls.post("/traits/new", BILL).status_code == 303
    assert gulls.post(FORMS, MEASURED).status_code == 303
    return gulls


def test_what_is_measured_is_told_at_the_pair_in_the_table_and_in_the_history(measured: Written) -> None:
    page = measured.words(PAIR)
    assert "Bill length decides." in page
    assert "decides: a cut at 40.8 mm puts 9 in 10 right" in page
    assert "Cohen's d 2.4, AUC 0.95, overlap 22 %; right on either side of the cut: 92 and 86 in 100" in page.replace("&#39;", "'")
    assert "38 ± 2 mm (n = 40)" in page
    assert "44 ± 3 mm" in measured.words("/table")
    assert "measured in mm" in measured.words()
    assert "Grey Weirgull, adult: what Bill length measures" in measured.words("/history")
    assert 'value="3"' in measured.get(FORMS).text
    assert "chance.grey_weirgull_adult.bill_length" not in measured.get(PAIR).text


@pytest.mark.parametrize(
    ("typed", "field", "why"),
    [
        ({f"mean.{GREY}": ""}, f"mean.{GREY}", "is no number"),
        ({f"mean.{GREY}": "long"}, f"mean.{GREY}", "is no number"),
        ({f"spread.{PALE}": "0"}, f"spread.{PALE}", "The spread is 0."),
        ({f"spread.{PALE}": "-1"}, f"spread.{PALE}", "The spread is -1."),
        ({f"n.{GREY}": "4.5"}, f"n.{GREY}", "is no count"),
        ({f"n.{GREY}": "0"}, f"n.{GREY}", "The count is 0."),
    ],
)
def test_a_measure_that_cannot_be_is_refused_beside_its_field(measured: Written, typed: dict[str, str], field: str, why: str) -> None:
    refused = measured.post(FORMS, MEASURED | typed)
    assert refused.status_code == 422
    assert why in refused.text
    assert f'id="{field}-mend"' in refused.text
    assert "38 ± 2 mm" in measured.words("/table"), "nothing was kept"


def test_a_trait_without_states_needs_a_unit_and_keeps_it_while_forms_are_measured(measured: Written) -> None:
    assert measured.post("/traits/new", BILL | {"unit": ""}).status_code == 422
    refused = measured.post("/traits/bill_length", BILL | {"unit": "", "state.0.label": "short", "state.1.label": "long"})
    assert refused.status_code == 422
    assert "Forms have been measured here." in refused.text
    assert measured.post(FORMS, dict.fromkeys(MEASURED, "")).status_code == 303
    assert "38 ± 2 mm" not in measured.words("/table")


def test_a_measure_that_was_changed_or_removed_is_taken_back(measured: Written) -> None:
    assert measured.post(FORMS, MEASURED | {f"mean.{GREY}": "39.5"}).status_code == 303
    assert "39.5 ± 2 mm (n = 40)" in measured.words("/table")
    assert measured.post(latest_undo(measured)).status_code == 303
    assert "38 ± 2 mm (n = 40)" in measured.words("/table")
    removed = {name: value for name, value in MEASURED.items() if GREY in name}
    assert measured.post(FORMS, MEASURED | dict.fromkeys(removed, "")).status_code == 303
    assert "38 ± 2 mm" not in measured.words("/table")
    assert "decides: a cut" not in measured.words(PAIR)
    assert measured.post(latest_undo(measured)).status_code == 303
    assert "38 ± 2 mm (n = 40)" in measured.words("/table")
    assert "44 ± 3 mm" in measured.words("/table"), "the other form keeps its own"
    assert "decides: a cut at 40.8 mm" in measured.words(PAIR)


def test_a_measure_that_was_changed_again_since_is_not_taken_back(measured: Written) -> None:
    first = latest_undo(measured)
    assert measured.post(FORMS, MEASURED | {f"mean.{GREY}": "39.5"}).status_code == 303
    assert measured.post(first).status_code == 409
    assert "39.5 ± 2 mm (n = 40)" in measured.words("/table")
