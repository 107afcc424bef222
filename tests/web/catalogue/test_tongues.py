"""A trait is said in another language on a page of its own: told there, refused by field, kept in the history, given back."""

from __future__ import annotations

import re
from io import BytesIO
from zipfile import ZipFile

import pytest

from tests.web.catalogue.writing import PAIR, TELLING, Written

WING = "/languages/de/traits/wing_tip"
SAID = {
    "label": "Flügelspitze",
    "ask": "Wie ist die Flügelspitze?",
    "state.black.label": "schwarz",
    "state.black.also": "rußig, dunkel",
    "state.white.label": "weiß",
}


@pytest.fixture
def german(gulls: Written) -> Written:
    assert gulls.post(PAIR, TELLING | {"note": "At the weir in winter."}).status_code == 303
    assert gulls.post(WING, SAID).location == f"{gulls.where}/languages/de?did=saved#traits"
    assert gulls.post(f"/languages/de{PAIR}", {"note": "Im Winter am Wehr."}).status_code == 303
    return gulls


def test_a_language_is_opened_by_its_tag(gulls: Written) -> None:
    assert "Nothing is said in another language yet." in gulls.words("/languages")
    assert gulls.get("/languages?language=pt-BR").location == f"{gulls.where}/languages/pt-BR"
    assert "In Portuguese (Brazil) 0 of 3 said." in gulls.words("/languages/pt-BR")


@pytest.mark.parametrize(("typed", "why"), [("Klingonese!", "is no tag of a language"), ("EN", "own language")])
def test_what_is_no_other_language_is_refused(gulls: Written, typed: str, why: str) -> None:
    refused = gulls.get(f"/languages?language={typed}")
    assert refused.status_code == 422
    assert why in refused.text
    assert gulls.get(f"/languages/{typed}").status_code == 404
    assert gulls.post(f"/languages/{typed}/traits/wing_tip", SAID).status_code == 404


def test_what_is_said_is_told_there_and_goes_into_history_and_folder(german: Written) -> None:
    assert "German said whole" in german.words("/languages")
    assert "All of it is said." in german.words("/languages/de")
    assert 'value="rußig, dunkel"' in german.get("/languages/DE/traits/wing_tip").text  # one language, however its tag is written
    history = german.words("/history")
    assert "Wing tip: question in de" in history
    assert "Wing tip, state black: also called in de" in history
    assert "Grey Weirgull, adult and Pale Weirgull: note in de" in history
    answer = german.get("/export")
    with ZipFile(BytesIO(answer.data)) as packed:
        text = next(packed.read(name).decode() for name in packed.namelist() if name.endswith("catalogue.toml"))
    answer.close()
    assert '[traits.said.de]\nlabel = "Flügelspitze"\nask = "Wie ist die Flügelspitze?"' in text
    assert 'black = { label = "schwarz", also_called = ["rußig", "dunkel"] }\nwhite = "weiß"' in text
    assert '[pairs.said.de]\nnote = "Im Winter am Wehr."' in text


@pytest.mark.parametrize(
    ("typed", "field", "why"),
    [
        ({"label": ""}, "label", "A question without the word for its trait."),
        ({"state.black.label": ""}, "states", "A state&#39;s other words without its first one."),
        ({"state.white.label": "Schwarz"}, "states", "“schwarz” means more than one state."),
        ({"state.white.label": "w" * 121}, "states", "too long"),
        ({"label": "w" * 121}, "label", "too long"),
        ({"state.gone.label": "weg"}, "states", "was retired meanwhile"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_stays_typed(german: Written, typed: dict[str, str], field: str, why: str) -> None:
    refused = german.post(WING, SAID | typed)
    assert refused.status_code == 422
    assert why in refused.text
    assert f'id="{field}-mend"' in refused.text
    assert 'value="schwarz"' in german.get(WING).text, "nothing was kept"


def test_two_stewards_meet_in_one_language_alone(german: Written) -> None:
    mark = german.version(WING)
    assert german.post("/languages/fr/traits/wing_tip", {"label": "bout de l'aile"}).status_code == 303
    assert german.post(WING, SAID | {"label": "Spitze", "version": mark}).status_code == 303
    stale = german.post(WING, SAID | {"label": "Ende", "version": mark})
    assert stale.status_code == 409
    assert "Wing tip: word in de" in re.sub(r"<[^>]+>", " ", stale.text)


def test_words_go_with_their_state_and_come_back_with_it(german: Written) -> None:
    rows = {"state.0.key": "black", "state.0.label": "black", "state.0.gone": "yes", "state.1.key": "white", "state.1.label": "white"}
    more = {"state.2.label": "grey", "label": "Wing tip", "part": "wing-tip", "kind": "colour"}
    assert german.post("/traits/wing_tip", rows | more).status_code == 303
    assert "schwarz" not in german.get(WING).text
    undo = re.findall(r'action="([^"]*undo[^"]*)"', german.get("/history").text)
    assert german.visitor.post(undo[0]).status_code == 303
    assert 'value="schwarz"' in german.get(WING).text
