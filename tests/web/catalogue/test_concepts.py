"""The page on which a steward says how concepts lie: kept, told, taken out, taken back, and refused."""

from __future__ import annotations

import re

from sqlalchemy import select

from drillhall.store.models.catalogue import CatalogueFormRow, CatalogueRow
from tests.cast import STRANGER
from tests.visits import Hall
from tests.web.catalogue.writing import GREY, HEAD, Written

PAGE = "/concepts"
CANENS, PALLENS = "invented-list-2031/larus-canens", "invented-list-2031/larus-pallens"
SPLIT = {"subject": CANENS, "relation": "isIncludedIn", "object": "Old List 2019 | Larus canens", "according_to": "Old List 2019"}


def test_a_split_is_said_told_taken_out_and_taken_back(gulls: Written) -> None:
    assert "Nothing is said yet" in gulls.words(PAGE)
    assert gulls.post(PAGE, SPLIT).status_code == 303
    told = gulls.words(PAGE)
    assert f"Grey Weirgull (Larus canens) {CANENS} is narrower than old-list-2019/larus-canens as Old List 2019 has it" in told
    assert f"became {CANENS} is narrower than old-list-2019/larus-canens (Old List 2019)" in gulls.words("/history")
    assert gulls.post(f"{PAGE}/drop", {"subject": CANENS, "object": "old-list-2019/larus-canens"}).status_code == 303
    assert "Nothing is said yet" in gulls.words(PAGE)
    undo = re.search(r"/history/(\d+)/undo", gulls.get("/history").text)
    assert undo is not None
    assert gulls.post(undo[0]).status_code == 303
    assert "is narrower than" in gulls.words(PAGE)


def test_what_is_refused_leaves_what_was_said(gulls: Written) -> None:
    paired = gulls.post(PAGE, SPLIT | {"object": PALLENS})
    assert (paired.status_code, "are mapped as isIncludedIn" in paired.text) == (422, True)
    unknown = gulls.post(PAGE, SPLIT | {"relation": "lumps"})
    assert (unknown.status_code, 'id="relation-mend"' in unknown.text) == (422, True)
    assert gulls.post(PAGE, SPLIT | {"version": "older"}).status_code == 409
    assert gulls.post(f"{PAGE}/drop", {"subject": CANENS, "object": PALLENS}).status_code == 404
    assert "Nothing is said yet" in gulls.words(PAGE)


def forms_taught(hall: Hall) -> set[tuple[str, int]]:
    """Return (catalogue, form) of what is taught of the grey gull."""
    with hall.store.look() as db:
        query = select(CatalogueRow.title, CatalogueFormRow.form_id).join(CatalogueRow, CatalogueRow.id == CatalogueFormRow.catalogue_id)
        query = query.where(CatalogueFormRow.key != "pale_weirgull", CatalogueFormRow.retired_at.is_(None))
        return {(title, form_id) for title, form_id in db.execute(query)}


def test_two_learnt_apart_become_one_only_after_it_was_shown(hall: Hall, gulls: Written) -> None:
    old = Written(
        gulls.visitor, str(gulls.visitor.post("/catalogues/new", HEAD | {"title": "Old gulls", "list_name": "Old List 2019"}).location)
    )
    assert old.post("/forms/new", GREY | {"vernacular_name": "Hoary Weirgull"}).status_code == 303
    same = SPLIT | {"relation": "isCongruentWith"}
    shown = gulls.post(PAGE, same)
    assert shown.status_code == 303
    assert "Forms that become one 1" in gulls.words(f"{PAGE}/join?{shown.location.partition('?')[2]}")
    assert "Nothing is said yet" in gulls.words(PAGE), "nothing is done by looking"
    assert gulls.post(PAGE, same | {"foreseen": "yes", "version": "older"}).status_code == 409
    assert gulls.post(PAGE, same | {"foreseen": "yes"}).status_code == 303
    assert "has the same boundary as old-list-2019/larus-canens" in gulls.words(PAGE)
    assert "Hoary Weirgull" in old.words("/forms/hoary_weirgull_adult"), "either catalogue goes on to call it by its own name"
    assert old.post("/forms/hoary_weirgull_adult", GREY | {"vernacular_name": "Hoary Gull"}).status_code == 303
    third = Written(
        gulls.visitor, str(gulls.visitor.post("/catalogues/new", HEAD | {"title": "New", "list_name": "Old List 2019"}).location)
    )
    assert third.post("/forms/new", GREY).status_code == 303, "written while the two are one"
    assert len({form_id for _, form_id in forms_taught(hall)}) == 1
    assert gulls.post(f"{PAGE}/drop", {"subject": CANENS, "object": "old-list-2019/larus-canens"}).status_code == 303
    apart = dict(forms_taught(hall))
    assert apart["New"] == apart["Old gulls"] != apart["Gulls of the weir"], "each by its own concept again"
    assert gulls.post(PAGE, same).location.partition("?")[0].endswith("/concepts/join"), "two again, as before"


def test_nobody_makes_one_of_two_that_somebody_elses_catalogue_teaches(hall: Hall, gulls: Written) -> None:
    another = hall.enter(STRANGER)
    mine = Written(another, str(another.post("/catalogues/new", HEAD | {"title": "Mine", "list_name": "Old List 2019"}).location))
    assert mine.post("/forms/new", GREY).status_code == 303
    before = forms_taught(hall)
    same = {"subject": "old-list-2019/larus-canens", "relation": "isCongruentWith", "object": CANENS}
    for asked in (same, same | {"foreseen": "yes"}):
        refused = mine.post(PAGE, asked)
        assert (refused.status_code, "A catalogue that is not yours teaches one of the two" in refused.text) == (422, True)
    assert mine.get(f"{PAGE}/join?subject={same['subject']}&relation=isCongruentWith&object={CANENS}").status_code == 422
    assert another.get(f"{gulls.where}{PAGE}/join?subject={CANENS}&relation=isCongruentWith&object={same['subject']}").status_code == 404
    assert forms_taught(hall) == before
    assert "Nothing is said yet" in mine.words(PAGE)


def test_what_would_join_nothing_has_no_page_of_its_own(gulls: Written) -> None:
    away = gulls.get(f"{PAGE}/join?subject={CANENS}&relation=includes&object=old/gull")
    assert (away.status_code, away.location) == (303, gulls.where + PAGE)
    assert gulls.get(f"{PAGE}/join?subject=nobody&relation=isCongruentWith&object=old/gull").status_code == 422
    assert gulls.visitor.post("/joined/7/put-away").status_code == 404
