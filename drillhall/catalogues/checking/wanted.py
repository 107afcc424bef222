"""Lists what a catalogue can be used without and still wants: pictures, portraits, views, marks, pairs that nothing tells apart."""

from __future__ import annotations

from collections.abc import Iterator

from drillhall.catalogues.folder import PICTURES_FILE, PICTURES_FOLDER, Folder, FolderCatalogue, FolderForm, FolderPicture
from drillhall.core.terms import PARTS
from drillhall.core.traits import TELLS_BITS, chance_of_count, chance_of_word, fill_chances, information_bits
from drillhall.core.values import Chances
from drillhall.core.wanted import AIM, FEW, HELD_OUT, PORTRAITS, FormWanted, Held, views_wanted, wanted_of
from drillhall.errors import Invalid


def list_wanted(folder: Folder) -> tuple[str, ...]:
    """Return what a folder still wants, sentence by sentence, the most needed first."""
    catalogue = folder.catalogue
    return (
        *_files(folder),
        *_private(catalogue),
        *_pictures(catalogue),
        *_pairs(catalogue),
        *_views(catalogue),
        *_marks(catalogue),
        *_parts(catalogue),
    )


def is_hall_wide(picture: FolderPicture) -> bool:
    """Whether a picture says what others than its owner need to see it."""
    return bool(picture.licence and picture.creator and picture.credit)


def _files(folder: Folder) -> Iterator[str]:
    named = {PICTURES_FOLDER + picture.file for picture in folder.catalogue.pictures}
    stray = sorted(name for name in folder.source.sizes if name.startswith(PICTURES_FOLDER) and name not in named)
    if stray:
        yield f"{_several(stray)} in {PICTURES_FOLDER} and not named in {PICTURES_FILE}, so left aside."
    if not folder.catalogue.sets:
        yield "There is no pair set, so nobody can take pairs from the shelf: write one in pair-sets.toml."


def _private(catalogue: FolderCatalogue) -> Iterator[str]:
    without = sorted(picture.file for picture in catalogue.pictures if not is_hall_wide(picture))
    if without:
        yield f"{_several(without)} not seen by anybody but the one who imports: dcterms:rights, dc:creator or photoshop:Credit is missing."


def _held(catalogue: FolderCatalogue) -> tuple[Held, ...]:
    return tuple(
        Held(one.form, one.use, {"orientation": one.orientation, "pose": one.pose, "setting": one.setting}) for one in catalogue.pictures
    )


def _pictures(catalogue: FolderCatalogue) -> Iterator[str]:
    for wanted in wanted_of([form.key for form in catalogue.forms], [], _held(catalogue)):
        yield from _of_form(wanted)


def _of_form(wanted: FormWanted) -> Iterator[str]:
    held = f"Form {wanted.form}: {wanted.practice} practice {'picture' if wanted.practice == 1 else 'pictures'}"
    if wanted.is_few:
        yield f"{held}; fewer than {FEW} are learnt by heart. Aim for {AIM}."
    elif wanted.practice_wanted:
        yield f"{held}. Aim for {AIM}."
    if wanted.portraits_wanted:
        yield f"Form {wanted.form}: {wanted.portraits} of {PORTRAITS} portraits."
    if wanted.held_out_wanted:
        yield f"Form {wanted.form}: {wanted.held_out} of {HELD_OUT} held-out pictures, which tests need."


def _views(catalogue: FolderCatalogue) -> Iterator[str]:
    """A view, pose or setting that only one form of a pair is seen in gives the answer away."""
    for one in views_wanted([pair.forms for pair in catalogue.pairs], _held(catalogue)):
        yield f"Form {one.form}: no practice picture with {one.view} {', '.join(one.words)}, of which {one.other} has some."


def _marks(catalogue: FolderCatalogue) -> Iterator[str]:
    marked = {mark.trait for picture in catalogue.pictures for mark in picture.marks}
    used = {trait for form in catalogue.forms for trait in form.traits}
    for trait in catalogue.traits:
        if trait.key not in used:
            yield f"Trait {trait.key}: no form says how often it shows it."
        elif trait.key not in marked and catalogue.pictures:
            yield f"Trait {trait.key}: marked on no picture, so “where do I look?” cannot point at it."


def _parts(catalogue: FolderCatalogue) -> Iterator[str]:
    for trait in catalogue.traits:
        if trait.part and trait.part not in PARTS:
            yield f"Trait {trait.key}: the part {trait.part} is a word of your own; other programs will read “unspecified part”."


def _pairs(catalogue: FolderCatalogue) -> Iterator[str]:
    forms = {form.key: form for form in catalogue.forms}
    for pair in catalogue.pairs:
        first, second = (forms.get(key) for key in pair.forms)
        if first is None or second is None:
            continue
        worth = [_bits(catalogue, first, second, key) for key in first.traits.keys() & second.traits.keys()]
        if not any(bits >= TELLS_BITS for bits in worth):
            yield f"Pair {' and '.join(pair.forms)}: no trait tells the two apart, so a miss cannot be explained."


def _bits(catalogue: FolderCatalogue, first: FolderForm, second: FolderForm, trait: str) -> float:
    one, other = _chances(catalogue, first, trait), _chances(catalogue, second, trait)
    return information_bits(one, other) if one and other else 0.0


def _chances(catalogue: FolderCatalogue, form: FolderForm, key: str) -> Chances | None:
    """Return a form's chances; None where what is said is at fault, which is told elsewhere."""
    states = [state.key for trait in catalogue.traits if trait.key == key for state in trait.states]
    try:
        said = {
            state: chance_of_word(chance.word) if chance.shown is None else chance_of_count(chance.shown, chance.of or 0)
            for state, chance in form.traits[key].items()
        }
        return fill_chances(said, states)
    except Invalid:
        return None


def _several(names: list[str]) -> str:
    shown = ", ".join(names[:3])
    return f"{shown} and {len(names) - 3} more are" if len(names) > 3 else f"{shown} {'are' if len(names) > 1 else 'is'}"
