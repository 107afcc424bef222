"""Numbers in addresses that are larger than any id: there is no such page, whatever the database would say to them."""

from __future__ import annotations

import pytest

from drillhall.web.forms import LARGEST_ID
from tests import cast
from tests.visits import Hall, Visitor

TOO_LARGE = (LARGEST_ID + 1, 10**30)


@pytest.fixture
def keeper(hall: Hall) -> Visitor:
    return hall.enter(cast.KEEPER, is_keeper=True)


@pytest.mark.parametrize("number", TOO_LARGE)
def test_no_route_falls_over_a_number_that_is_no_id(hall: Hall, keeper: Visitor, number: int) -> None:
    walked = 0
    for rule in hall.app.url_map.iter_rules():
        if not any(type(part).__name__ == "Id" for part in rule._converters.values()):
            continue
        address = rule.rule
        for name, part in rule._converters.items():
            said = str(number) if type(part).__name__ == "Id" else "x"
            address = address.replace(f"<int:{name}>", said).replace(f"<{name}>", said)
        answer = keeper.get(address) if "GET" in (rule.methods or ()) else keeper.post(address)
        assert answer.status_code == 404, address
        walked += 1
    assert walked > 10


@pytest.mark.parametrize(
    "address", ["/my-pictures?page={0}", "/my-pictures?form={0}", "/my-pictures/describe?form={0}", "/my-pictures?form=-{0}"]
)
@pytest.mark.parametrize("number", TOO_LARGE)
def test_a_number_behind_the_question_mark_that_is_no_id_counts_as_none(keeper: Visitor, address: str, number: int) -> None:
    assert keeper.get(address.format(number)).status_code == 200


@pytest.mark.parametrize("digests", [["\ud800"], ["\0" * 64], ["g" * 64], ["a" * 64] * 2_001, "a" * 64, [1]])
def test_what_is_no_sha_256_is_not_looked_for(keeper: Visitor, digests: object) -> None:
    answer = keeper.client.post("/my-pictures/known", json={"sha256": digests}, headers={"X-CSRFToken": keeper.token()})
    assert answer.status_code == 422
