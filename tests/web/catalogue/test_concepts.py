"""The page on which a steward says how concepts lie: kept, told, taken out, taken back, and refused."""

from __future__ import annotations

import re

from tests.web.catalogue.writing import Written

PAGE = "/concepts"
CANENS, PALLENS = "invented-list-2031/larus-canens", "invented-list-2031/larus-pallens"
SPLIT = {"subject": CANENS, "relation": "isIncludedIn", "object": "Old List 2019 | Larus canens", "according_to": "Old List 2019"}


def test_a_split_is_said_told_taken_out_and_taken_back(gulls: Written) -> None:
    assert "Nothing is said yet" in gulls.words(PAGE)
    assert gulls.post(PAGE, SPLIT).status_code == 303
    told = gulls.words(PAGE)
    assert f"Grey Weirgull (Larus canens) {CANENS} is narrower than old-list-2019/larus-canens as Old List 2019 has it" in told
    assert f"became {CANENS} isIncludedIn old-list-2019/larus-canens (Old List 2019)" in gulls.words("/history")
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
