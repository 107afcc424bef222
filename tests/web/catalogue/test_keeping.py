"""What becomes of a catalogue's things: retired and taken back, two stewards at once, and who writes it."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from sqlalchemy import update

from drillhall.people import limits
from drillhall.store.models.catalogue import CatalogueChangeRow
from tests import cast
from tests.visits import Hall
from tests.web.catalogue.writing import GREY, HEAD, PAIR, TELLING, Written


@pytest.fixture
def second(hall: Hall, gulls: Written) -> Written:
    """Another steward at the same catalogue."""
    visitor = hall.enter(cast.TEACHER)
    assert gulls.post("/stewards", {"name": cast.TEACHER.name.upper()}).status_code == 303
    return Written(visitor, gulls.where)


def latest_undo(written: Written) -> str:
    found = re.search(r'action="[^"]*(/history/\d+/undo)"', written.get("/history").text)
    assert found
    return found[1]


def test_a_form_is_retired_with_its_pair_and_taken_back(gulls: Written) -> None:
    gulls.post(PAIR, TELLING | {"note": "Wait until it flies."})
    assert gulls.post("/things/forms/pale_weirgull/retire").status_code == 303
    assert "Pale Weirgull" not in gulls.words()
    assert gulls.get(PAIR).status_code == 404
    assert "pair no longer: Grey Weirgull, adult and Pale Weirgull" in gulls.words("/history")
    assert gulls.post(latest_undo(gulls)).status_code == 303
    assert "Wing tip decides." in gulls.words(PAIR)
    assert "Wait until it flies." in gulls.words(PAIR)


def test_a_retired_trait_is_added_anew_beside_the_old_one(gulls: Written) -> None:
    gulls.post("/things/traits/wing_tip/retire")
    gulls.post("/traits/new", {"label": "Wing tip", "part": "wing-tip", "kind": "pattern", "state.0.label": "bar", "state.1.label": "none"})
    assert gulls.get("/traits/wing_tip_2").status_code == 200
    assert gulls.post(latest_undo(gulls)).status_code == 303  # the new one goes
    assert gulls.get("/traits/wing_tip_2").status_code == 404


def test_taking_back_what_was_changed_since_is_refused(gulls: Written) -> None:
    gulls.post("/about", HEAD | {"note": "one"})
    first = latest_undo(gulls)
    gulls.post("/about", HEAD | {"note": "two"})
    answer = gulls.post(first)
    assert (answer.status_code, "This was changed again since: note." in answer.text) == (409, True)
    assert ">two</textarea>" in gulls.get("/about").text


def test_the_second_steward_sees_both_and_takes_one(gulls: Written, second: Written) -> None:
    hers = second.version(PAIR)
    assert gulls.post(PAIR, TELLING | {"note": "Theirs."}).status_code == 303
    answer = second.post(PAIR, TELLING | {"note": "Hers.", "version": hers})
    assert answer.status_code == 409
    words = " ".join(re.sub(r"<[^>]+>", " ", answer.text).split())
    assert f"{cast.LEADER.name} changed this on" in words
    assert "note Theirs. Hers." in words
    assert ">Hers.</textarea>" in answer.text
    assert "Theirs." in second.words(PAIR)
    found = re.search(r'name="version" value="(\w+)"', answer.text)
    assert found
    assert second.post(PAIR, TELLING | {"note": "Hers.", "version": found[1]}).status_code == 303
    assert "Hers." in gulls.words(PAIR)


@pytest.mark.parametrize("page", ["/about", "/forms/grey_weirgull_adult", "/traits/wing_tip", "/traits/wing_tip/forms", PAIR])
def test_a_stale_page_keeps_nothing(gulls: Written, page: str) -> None:
    states = {"state.0.key": "black", "state.0.label": "sooty", "state.1.key": "white", "state.1.label": "white"}
    wing = {"label": "Wing tip", "part": "wing-tip", "kind": "colour", **states}
    before = gulls.words("/history")
    answer = gulls.post(page, HEAD | GREY | TELLING | wing | {"note": "Stale.", "version": "0" * 24})
    assert (answer.status_code, "Somebody was quicker." in answer.text) == (409, True)
    assert gulls.words("/history") == before


def test_a_page_of_what_was_retired_meanwhile_is_gone(gulls: Written, second: Written) -> None:
    version = second.version(PAIR)
    gulls.post("/things/pairs/grey_weirgull_adult:pale_weirgull/retire")
    answer = second.post(PAIR, TELLING | {"version": version})
    assert (answer.status_code, "its history tells" in answer.text) == (404, True)


def test_stewards_are_added_and_let_go_but_never_the_last(hall: Hall, gulls: Written, second: Written) -> None:
    assert cast.TEACHER.name in gulls.words("/stewards")
    again = gulls.post("/stewards", {"name": cast.TEACHER.name})
    assert (again.status_code, "writes this catalogue already" in again.text) == (409, True)
    nobody = gulls.post("/stewards", {"name": "Nobody At All"})
    assert (nobody.status_code, "Nobody in this hall has that name" in nobody.text) == (422, True)
    ids = re.findall(r'name="account" value="(\d+)"', gulls.get("/stewards").text)
    own = second.post("/stewards/end", {"account": ids[-1]})
    assert (own.status_code, own.location) == (303, "/catalogues")
    assert second.get().status_code == 404
    last = gulls.post("/stewards/end", {"account": ids[0]})
    assert (last.status_code, "A catalogue needs somebody who writes it" in last.text) == (409, True)
    assert gulls.post("/stewards/end", {"account": "999"}).status_code == 404
    assert gulls.post("/stewards/end", {"account": "x"}).status_code == 422
    assert "steward removed" in gulls.words("/history")


def test_who_is_in_the_hall_is_not_tried_out_name_by_name(gulls: Written, second: Written, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "NAME_STEWARD", replace(limits.NAME_STEWARD, most=3))
    tried = [gulls.post("/stewards", {"name": name}).status_code for name in ("Nobody At All", cast.TEACHER.name, "Nobody At All")]
    assert tried == [422, 409, 429], "each counts, and so did letting the second one in"
    assert second.post("/stewards", {"name": "Nobody At All"}).status_code == 422, "another steward has tries of her own"


def test_a_catalogue_is_retired_as_a_whole_and_taken_back(gulls: Written) -> None:
    assert gulls.post("/retire").location == "/catalogues"
    assert gulls.get().status_code == 404
    assert "Out of use" in gulls.visitor.get("/catalogues").text
    back = gulls.visitor.post(gulls.where + "/take-back")
    assert (back.status_code, back.location) == (303, gulls.where)
    assert gulls.get().status_code == 200
    assert gulls.visitor.post(gulls.where + "/take-back").status_code == 404


def test_the_history_needs_no_account_any_more(hall: Hall, gulls: Written) -> None:
    with hall.store.work() as db:
        db.execute(update(CatalogueChangeRow).values(account_id=None))
    assert "by an account that is gone" in gulls.words("/history")
