"""A catalogue that is written page by page over HTTP, for tests of its pages."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from werkzeug.test import TestResponse

from tests.visits import Visitor

HEAD = {"title": "Gulls of the weir", "subject": "bird", "language": "en", "list_name": "Invented List 2031"}
GREY = {"vernacular_name": "Grey Weirgull", "scientific_name": "Larus canens", "taxon_rank": "species", "life_stage": "adult"}
PALE = {"vernacular_name": "Pale Weirgull", "scientific_name": "Larus pallens", "taxon_rank": "species"}
WING = {"label": "Wing tip", "part": "wing-tip", "kind": "colour", "state.0.label": "black", "state.1.label": "white"}
PAIR = "/pairs/grey_weirgull_adult:pale_weirgull"
TELLING = {
    "chance.grey_weirgull_adult.wing_tip.black": "always",
    "chance.pale_weirgull.wing_tip.white": "19 of 20",
    "third_share": "5",
    "neither": "yes",
}


@dataclass
class Written:
    """A catalogue open before one who writes it."""

    visitor: Visitor
    where: str

    def get(self, page: str = "") -> TestResponse:
        return self.visitor.get(self.where + page)

    def post(self, page: str, fields: dict[str, Any] | None = None) -> TestResponse:
        """Send a form as the page has it: with the mark of what it was read with."""
        sent = dict(fields or {})
        if "version" not in sent and (mark := self.version(page)):
            sent["version"] = mark
        return self.visitor.post(self.where + page, sent)

    def version(self, page: str) -> str:
        found = re.search(r'name="version" value="(\w*)"', self.get(page).text)
        return found[1] if found else ""

    def words(self, page: str = "") -> str:
        """Return what a page says, without its markup."""
        return " ".join(re.sub(r"<[^>]+>", " ", self.get(page).text.partition("<main")[2]).split())


def write_gulls(visitor: Visitor) -> Written:
    """Make a catalogue of two forms, one trait and one pair."""
    written = Written(visitor, str(visitor.post("/catalogues/new", HEAD).location))
    for page, fields in (("/forms/new", GREY), ("/forms/new", PALE), ("/traits/new", WING)):
        assert written.post(page, fields).status_code == 303
    made = written.post("/pairs/new", {"first": "grey_weirgull_adult", "second": "pale_weirgull"})
    assert made.location == f"{written.where}{PAIR}?did=saved"
    return written
