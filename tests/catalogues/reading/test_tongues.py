"""What is said in other languages is read as it is meant, given back, and told at fault word by word."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillhall.catalogues.writing import text_files
from drillhall.core.values import Words
from tests.catalogues import folders
from tests.catalogues.folders import CATALOGUE

LEGS = '[[traits]]\nkey = "legs"'
SAID = """
[traits.said.de]
label = "Schnabel"
ask = "Welche Form hat der Schnabel?"
[traits.said.de.states]
straight = "gerade"
bent = { label = "gebogen", also_called = ["krumm"] }
[traits.said.pt-BR.states]
bent = "curvo"

"""


def saying(said: str) -> str:
    """Return the catalogue with something said of the bill in other languages."""
    return CATALOGUE.replace(LEGS, said + LEGS)


def test_a_trait_is_read_in_every_language_and_given_back_the_same(tmp_path: Path) -> None:
    folder = folders.write(tmp_path, catalogue=saying(SAID) + '\n[pairs.said.de]\nnote = "Im Winter."\n')
    said = folders.read(folder)
    bill = said.traits[0]
    assert bill.said == {"de": Words("Schnabel", "Welche Form hat der Schnabel?")}
    assert bill.states[1].said == {"de": Words("gebogen", also_called=("krumm",)), "pt-BR": Words("curvo")}
    assert said.pairs[-1].said == {"de": Words(note="Im Winter.")}
    assert folders.report(folder).faults == ()
    text = text_files(said)["catalogue.toml"]
    assert '[traits.said.de.states]\nstraight = "gerade"\nbent = { label = "gebogen", also_called = ["krumm"] }\n' in text
    assert folders.read(folders.write(tmp_path / "again", catalogue=text)) == said


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (SAID.replace("straight =", "hooked ="), "trait bill, said in de: There is no state hooked. Its states are straight, bent."),
        (SAID.replace('["krumm"]', '["Gerade"]'), "trait bill, said in de: “gerade” means more than one state. Leave it to one of them."),
        (SAID.replace('"krumm"', '"straight"'), "trait bill, said in de: “straight” means more than one state."),
        (SAID.replace('"curvo"', "7"), "trait bill, said in pt-BR: bent says no words. Write bent = "),
        (SAID.replace('label = "gebogen", ', ""), "trait bill, said in de, state bent: label is missing."),
        (SAID.replace('also_called = ["krumm"]', 'colour = "#000000"'), "trait bill, said in de, state bent: It does not know colour."),
        (SAID.replace('label = "Schnabel"\n', ""), "trait bill, said in de: label is missing. Write label = "),
        (SAID.replace("ask =", "question ="), "trait bill, said in de: It does not know question. Take it out."),
        (SAID.replace("pt-BR", '"pt BR"'), "trait bill: The language pt BR is no language tag. Write it like en or pt-BR."),
        (SAID.replace("pt-BR", "en"), "trait bill: en is this catalogue's own language. Its words there stand beside its key;"),
        (SAID.replace("pt-BR", "DE"), "trait bill: de and DE are one language. Say it under one of them."),
        ('[traits.said]\nde = "Schnabel"\n', "trait bill: What is said in de must be a table. Write it with a line for each word."),
        (SAID.replace('"Schnabel"', f'"{"n" * 121}"'), "trait bill, said in de: label has 121 characters. Make it at most 120."),
    ],
)
def test_every_fault_names_its_language_and_its_mend(tmp_path: Path, said: str, told: str) -> None:
    lines = folders.report(folders.write(tmp_path, catalogue=saying(said))).lines
    assert len(lines) == 1, lines
    assert told in lines[0]


def test_a_note_in_the_catalogue_s_own_language_and_one_too_long_are_faults(tmp_path: Path) -> None:
    said = f'\n[pairs.said.EN]\nnote = "In winter."\n[pairs.said.de]\nnote = "{"n" * 4001}"\nhabitat = "x"\n'
    lines = " ".join(folders.report(folders.write(tmp_path, catalogue=CATALOGUE + said)).lines)
    assert "EN is this catalogue's own language." in lines
    assert "note has 4001 characters." in lines
    assert "It does not know habitat." in lines
