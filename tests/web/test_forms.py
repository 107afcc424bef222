"""What is typed into a form, and where one may be sent afterwards."""

from __future__ import annotations

import pytest
from flask import Flask

from drillhall.errors import Invalid
from drillhall.web import forms
from tests import cast
from tests.visits import Hall


@pytest.mark.parametrize("target", ["/", "/standing", "/drill/end?drill=1", "/hall/people#x", "/a//b"])
def test_a_page_of_this_hall_may_be_gone_on_to(target: str) -> None:
    assert forms.safe_next(target) == target


@pytest.mark.parametrize(
    "target",
    [
        "",
        "standing",
        "//evil.example",
        "///evil.example",
        "/\\evil.example",
        "\\\\evil.example",
        "/a\\b",
        "https://evil.example/",
        "javascript:alert(1)",
        "/\t/evil.example",
        "/\n/evil.example",
        " //evil.example",
        "/\x7f",
        "/" + "a" * 600,
    ],
)
def test_nowhere_else(target: str) -> None:
    assert forms.safe_next(target) == ""


@pytest.mark.parametrize("typed", ["", "ten", "1.5", "1e3", "٣", "0x10", "9" * 30, " "])
def test_what_is_no_whole_number_is_told_with_its_label(typed: str) -> None:
    with (
        Flask("x").test_request_context(method="POST", data={"minutes": typed}),
        pytest.raises(Invalid, match="Minutes a day must be a whole number") as caught,
    ):
        forms.whole("minutes", "Minutes a day")
    assert caught.value.field == "minutes"


def test_a_whole_number_may_have_spaces_round_it() -> None:
    with Flask("x").test_request_context(method="POST", data={"minutes": " 12 "}):
        assert forms.whole("minutes", "Minutes a day") == 12


@pytest.mark.parametrize("sent", ["", " ", "x", "-1", "1.5", "٣", "9" * 30])
def test_what_is_none_of_the_choices_is_not_asked_to_be_written(sent: str) -> None:
    with Flask("x").test_request_context(method="POST", data={"form": sent}), pytest.raises(Invalid) as caught:
        forms.chosen("form", "What it shows")
    assert (caught.value.field, str(caught.value)) == ("form", "What it shows: choose one of those shown.")


def test_what_was_chosen_is_its_number() -> None:
    with Flask("x").test_request_context(method="POST", data={"form": "12"}):
        assert forms.chosen("form", "What it shows") == 12


@pytest.mark.parametrize(("typed", "why"), [("a" * 401, "too long"), ("a\x00b", "cannot be stored")])
def test_text_that_cannot_be_kept_is_refused(typed: str, why: str) -> None:
    with Flask("x").test_request_context(method="POST", data={"note": typed}), pytest.raises(Invalid, match=why):
        forms.text("note")


def test_a_field_that_was_not_sent_is_empty() -> None:
    with Flask("x").test_request_context(method="POST", data={}):
        assert forms.text("note") == ""
        assert not forms.ticked("stay")


@pytest.mark.parametrize(
    ("address", "status"), [("/groups/%00", 404), ("/groups/a%00b/season", 404), ("/?page=%00", 422), ("/?%00=1", 422)]
)
def test_a_zero_byte_in_an_address_reaches_no_database(hall: Hall, address: str, status: int) -> None:
    """PostgreSQL refuses to look for one, where SQLite finds nothing."""
    learner = hall.enter(cast.LEARNER)
    for method in ("GET", "POST"):
        answer = learner.client.open(address, method=method, headers={"X-CSRFToken": learner.token()})
        assert answer.status_code in {status, 405}
