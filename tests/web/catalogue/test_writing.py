"""A catalogue written page by page: from nothing to what decides, and everything that is refused on the way."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import func, select

from drillhall.catalogues.editing.changing import the_opened
from drillhall.catalogues.editing.fields import to_fields
from drillhall.store.models.catalogue import CatalogueChangeRow
from drillhall.store.models.practice import DrillRow
from tests import cast
from tests.visits import Hall, Visitor
from tests.web.catalogue.writing import GREY, HEAD, PAIR, TELLING, WING, Written


def fields_of(hall: Hall, key: str = "gulls-of-the-weir") -> dict[str, Any]:
    with hall.store.look() as db:
        return to_fields(the_opened(db, key, 1).said)  # the steward's is the hall's first account


def test_from_nothing_to_what_decides(gulls: Written) -> None:
    assert "No trait says anything of both forms yet" in gulls.words(PAIR)
    kept = gulls.post(PAIR, TELLING | {"note": "Wait until it flies."})
    assert kept.status_code == 303
    assert "Saved." in gulls.visitor.get(kept.location).text
    page = gulls.words(PAIR)
    assert "Saved." not in page
    assert "Wing tip decides." in page
    assert "decides, right nearly always black white" in page
    assert "black always" in gulls.words("/table")
    assert "Grey Weirgull , adult and Pale Weirgull" in gulls.words()


def test_what_decides_is_worked_out_and_not_kept(hall: Hall, gulls: Written) -> None:
    before = fields_of(hall)
    part = gulls.visitor.post(gulls.where + PAIR + "/worked?part=yes", TELLING)
    assert part.status_code == 200
    assert "Wing tip decides." in part.text
    assert "<main" not in part.text
    whole = gulls.visitor.post(gulls.where + PAIR + "/worked", TELLING | {"note": "typed, not kept"})
    assert "Wing tip decides." in whole.text
    assert "typed, not kept</textarea>" in whole.text
    assert 'value="19 of 20"' in whole.text
    assert fields_of(hall) == before


def test_after_a_refused_save_what_decides_follows_from_what_was_typed(gulls: Written) -> None:
    assert "Wing tip decides" not in gulls.words(PAIR)
    for wrong in ({"third.0.form": "pale_weirgull"}, {"third_share": "11"}, {"version": "0" * 24}):
        answer = gulls.post(PAIR, TELLING | wrong)
        assert answer.status_code in (409, 422)
        assert "Wing tip decides." in answer.text
    unreadable = gulls.post(PAIR, TELLING | {"chance.pale_weirgull.wing_tip.white": "now and then", "third_share": "11"})
    assert "Wing tip decides." not in unreadable.text
    assert "Wing tip decides" not in gulls.words(PAIR), "nothing was kept"


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({"chance.pale_weirgull.wing_tip.white": "mostly"}, "is no word for how often"),
        ({"chance.pale_weirgull.wing_tip.black": "rarely", "chance.pale_weirgull.wing_tip.white": "rarely"}, "come to 0.20 in all"),
        ({"third.0.form": "pale_weirgull"}, "A third needs both"),
        ({"third.0.form": "pale_weirgull", "third.0.trait": "wing_tip"}, "is one of the pair itself"),
        ({"third_share": "11"}, "from 0 to 10"),
        ({"third_share": "nan"}, "from 0 to 10"),
        ({"chance.nobody.wing_tip.white": "always"}, "retired meanwhile"),
    ],
)
def test_what_cannot_be_meant_is_told_at_once_and_not_kept(hall: Hall, gulls: Written, typed: dict[str, str], why: str) -> None:
    before = fields_of(hall)
    part = gulls.visitor.post(gulls.where + PAIR + "/worked?part=yes", TELLING | typed)
    assert (part.status_code, why in part.text) == (200, True)
    saved = gulls.post(PAIR, TELLING | typed)
    assert (saved.status_code, why in saved.text) == (422, True)
    assert fields_of(hall) == before


def test_a_trait_is_said_of_every_form_on_one_page(gulls: Written) -> None:
    assert gulls.post("/traits/wing_tip/forms", TELLING).status_code == 303
    assert "white 19 of 20" in gulls.words("/table")
    assert gulls.post("/traits/wing_tip/forms", dict.fromkeys(TELLING, "")).status_code == 303
    assert "not said" in gulls.words("/table")
    wrong = gulls.post("/traits/wing_tip/forms", TELLING | {"chance.pale_weirgull.wing_tip.white": "30 of 20"})
    assert (wrong.status_code, "30 of 20" in wrong.text) == (422, True)


def test_states_are_called_otherwise_added_put_in_order_and_retired(hall: Hall, gulls: Written) -> None:
    gulls.post("/traits/wing_tip/forms", TELLING)
    states = {
        "state.0.key": "black",
        "state.0.label": "sooty",
        "state.0.place": "3",
        "state.0.also": "dark, inky",
        "state.0.colour": "#111111",
        "state.1.key": "white",
        "state.1.label": "white",
        "state.1.gone": "yes",
        "state.2.label": "grey",
        "state.2.place": "1",
        "state.3.label": "",
    }
    assert gulls.post("/traits/wing_tip", WING | states).status_code == 303
    fields = fields_of(hall)
    assert fields["traits/wing_tip/states"] == ["grey", "black"]
    assert fields["traits/wing_tip/states/black/also_called"] == ["dark", "inky"]
    assert [path for path in fields if path.startswith("forms/") and "/traits/" in path] == [
        "forms/grey_weirgull_adult/traits/wing_tip/black"
    ]


@pytest.mark.parametrize(
    ("page", "fields", "why"),
    [
        ("/forms/new", GREY | {"vernacular_name": " "}, "Name is empty"),
        ("/forms/new", GREY | {"scientific_name": ""}, "Scientific name is empty"),
        ("/forms/new", GREY | {"taxon_rank": "sort"}, "not among the choices"),
        ("/forms/new", GREY | {"taxon_rank": ""}, "Rank: choose one of those shown."),
        ("/forms/new", GREY | {"length_mm": "long"}, "must be a whole number"),
        ("/forms/new", GREY | {"length_mm": "0", "plumage": "worn"}, "must be a whole number"),
        ("/forms/new", GREY, "the same form as grey_weirgull_adult"),
        ("/forms/new", GREY | {"plumage": "a\x01b"}, "holds a control sign"),
        ("/traits/new", WING | {"label": ""}, "Trait is empty"),
        ("/traits/new", WING | {"kind": ""}, "Kind: choose one of those shown."),
        ("/traits/new", WING | {"kind": "feeling"}, "not among the choices"),
        ("/traits/new", WING | {"state.1.label": ""}, "at least two states"),
        ("/traits/new", WING | {"state.1.label": "Black"}, "Two states have the same word"),
        ("/traits/new", WING | {"state.1.colour": "red"}, "The colour red is none"),
        ("/traits/new", WING | {"state.1.label": "x" * 121}, "too long"),
        ("/traits/wing_tip", WING | {"state.0.gone": "yes"}, "at least two states"),
        ("/pairs/new", {"first": "pale_weirgull", "second": "pale_weirgull"}, "pairs a form with itself"),
        ("/pairs/new", {"first": "pale_weirgull", "second": "grey_weirgull_adult"}, "a pair of this catalogue already"),
        ("/pairs/new", {"first": "pale_weirgull"}, "Choose a form"),
        ("/about", HEAD | {"title": ""}, "Title is empty"),
        ("/about", HEAD | {"language": "e"}, "no language tag"),
    ],
)
def test_what_is_refused_says_what_to_mend_and_keeps_nothing(
    hall: Hall, gulls: Written, page: str, fields: dict[str, str], why: str
) -> None:
    before = fields_of(hall)
    answer = gulls.post(page, fields)
    assert (answer.status_code, why in answer.text) == (422, True)
    assert fields_of(hall) == before


def test_what_was_typed_stands_there_again(gulls: Written) -> None:
    answer = gulls.post("/traits/new", WING | {"label": "Tail <edge>", "state.1.label": ""})
    assert 'value="Tail &lt;edge&gt;"' in answer.text
    assert 'value="black"' in answer.text


def test_an_empty_title_makes_no_catalogue(steward: Visitor) -> None:
    answer = steward.post("/catalogues/new", HEAD | {"title": ""})
    assert (answer.status_code, "Title is empty" in answer.text) == (422, True)
    assert "You write none yet" in steward.get("/catalogues").text


PAGES = ("", "/about", "/checks", "/forms/new", "/forms/grey_weirgull_adult", "/traits/new", "/traits/wing_tip", "/traits/wing_tip/forms")
PAGES += ("/table", "/pairs/new", PAIR, "/preview", "/history", "/stewards")


def test_another_s_catalogue_is_not_there(hall: Hall, gulls: Written) -> None:
    other = hall.enter(cast.STRANGER)
    other.post("/catalogues/new", HEAD | {"title": "Hers"})  # so that she is a steward of something
    before = fields_of(hall)
    for page in PAGES:
        assert (gulls.get(page).status_code, other.get(gulls.where + page).status_code) == (200, 404), page
    for page in ("/about", "/forms/new", "/forms/grey_weirgull_adult", "/traits/new", "/traits/wing_tip", "/traits/wing_tip/forms", PAIR):
        assert other.post(gulls.where + page, HEAD | GREY | WING | TELLING).status_code == 404, page
    for page in (PAIR + "/worked", "/things/forms/pale_weirgull/retire", "/things/forms/pale_weirgull/move", "/history/1/undo"):
        assert other.post(gulls.where + page, TELLING).status_code == 404, page
    for page in ("/stewards", "/stewards/end", "/retire", "/take-back"):
        assert other.post(gulls.where + page, {"name": cast.STRANGER.name, "account": "1"}).status_code == 404, page
    assert fields_of(hall) == before


def test_things_that_are_not_there_are_not_found(gulls: Written) -> None:
    for page in ("/forms/nobody", "/traits/nobody", "/traits/nobody/forms", "/pairs/a:b", "/pairs/nobody", "/preview?pair=a:b"):
        assert gulls.get(page).status_code == 404, page
    for page in ("/preview?set=none", "/preview?throw=x", "/history?page=9", "/history?page=x"):
        assert gulls.get(page).status_code == 404, page
    for page in ("/things/forms/nobody/retire", "/things/birds/nobody/retire", "/things/forms/nobody/move", "/history/99/undo"):
        assert gulls.post(page, {"to": "later"}).status_code == 404, page


def test_a_form_says_how_long_it_really_is(hall: Hall, gulls: Written) -> None:
    assert gulls.post("/forms/grey_weirgull_adult", GREY | {"length_mm": " 430 "}).status_code == 303
    assert fields_of(hall)["forms/grey_weirgull_adult/length_mm"] == 430
    assert 'value="430"' in gulls.get("/forms/grey_weirgull_adult").text
    assert "length in mm: nothing → became 430" in gulls.words("/history")
    gulls.post("/forms/grey_weirgull_adult", GREY)
    assert fields_of(hall)["forms/grey_weirgull_adult/length_mm"] is None


def test_things_are_put_in_order(hall: Hall, gulls: Written) -> None:
    assert gulls.post("/things/forms/pale_weirgull/move", {"to": "earlier"}).status_code == 303
    assert fields_of(hall)["forms"] == ["pale_weirgull", "grey_weirgull_adult"]
    assert "order of the forms: Grey Weirgull, adult, Pale Weirgull" in gulls.words("/history")


def test_looking_through_a_drill_records_nothing(hall: Hall, gulls: Written) -> None:
    assert "both forms of a pair need practice pictures" in gulls.words("/preview")
    with hall.store.look() as db:
        assert db.scalar(select(func.count()).select_from(DrillRow)) == 0


def test_what_is_wanted_is_told(gulls: Written) -> None:
    page = gulls.words("/checks")
    assert "no form says how often it shows it" in page
    assert "no trait tells the two apart" in page


def test_a_field_that_is_too_long_is_refused_before_it_is_read(hall: Hall, gulls: Written) -> None:
    before = fields_of(hall)
    assert gulls.post(PAIR, TELLING | {"note": "x" * 4200}).status_code == 422
    assert gulls.post("/forms/new", GREY | {"note": "x\x00"}).status_code == 422
    assert fields_of(hall) == before
    with hall.store.look() as db:
        assert db.scalar(select(func.count()).select_from(CatalogueChangeRow)) == 5
