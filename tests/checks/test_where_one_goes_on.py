"""Where a browser goes for an address of the hall's own making: Node's URL, which follows the URL Standard (WHATWG), resolves it."""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path

from werkzeug.urls import iri_to_uri

from drillhall.web.forms import safe_next
from tests.node import run

PIECES = (
    "/",
    "//",
    "\\",
    ".",
    "..",
    "\t",
    "\r\n",
    "%2f",
    "%5c",
    "@",
    ":",
    "?",
    "#",
    "evil.example",
    "https:",
    "\uff0f",
    "\u2028",
    "\x85",
    "[",
    "a",
)
ELSEWHERE = """
const told = JSON.parse(require("fs").readFileSync(0, "utf8"));
const origin = (target) => { try { return new URL(target, "https://hall.example/sign-in?next=x").origin } catch { return "none" } };
console.log(JSON.stringify(told.map(origin)));
"""


def test_no_address_that_is_gone_on_to_is_another_hosts(tmp_path: Path) -> None:
    tried = ["".join(made) for made in product(("", "/"), PIECES, PIECES, PIECES)]
    origins = dict(zip(tried, json.loads(run(tmp_path, ELSEWHERE, json.dumps(tried))), strict=True))
    taken = [target for target in tried if safe_next(target)]
    assert {origins[target] for target in taken} == {"https://hall.example"}
    sent = json.loads(run(tmp_path, ELSEWHERE, json.dumps([iri_to_uri(target) for target in taken])))
    assert set(sent) == {"https://hall.example"}, "nor as it stands in the Location"
    assert len(taken) > 3_000
    assert sum(origin not in {"https://hall.example", "none"} for origin in origins.values()) > 300, "there were ways out to be tried"
