"""Lists what a catalogue can be used without and still wants: pictures, portraits, views, marks, pairs that nothing tells apart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from drillhall.catalogues.folder import PICTURES_FILE, PICTURES_FOLDER, Folder, FolderCatalogue, FolderForm, FolderPicture
from drillhall.catalogues.names import Names
from drillhall.core.term_words import POSES, SEEN_FROM, SETTINGS
from drillhall.core.terms import PARTS
from drillhall.core.traits import TELLS_BITS, chance_of_count, chance_of_word, fill_chances, information_bits
from drillhall.core.values import Chances
from drillhall.core.wanted import AIM, FEW, HELD_OUT, PORTRAITS, FormWanted, Held, views_wanted, wanted_of
from drillhall.errors import Invalid
from drillhall.words import Said, joined, say, say_n

_LACKING: Final = {
    "orientation": say("{form}: no practice picture seen {words}, of which {other} has some."),
    "pose": say("{form}: no practice picture with pose {words}, of which {other} has some."),
    "setting": say("{form}: no practice picture with setting {words}, of which {other} has some."),
    "plumage": say("{form}: no practice picture with plumage {words}, of which {other} has some."),
}
_WORDS: Final[Mapping[str, Mapping[str, Said]]] = {"orientation": SEEN_FROM, "pose": POSES, "setting": SETTINGS}


def list_wanted(folder: Folder) -> tuple[str, ...]:
    """Return what a folder still wants, sentence by sentence, the most needed first."""
    catalogue = folder.catalogue
    names = Names(catalogue)
    return (
        *_files(folder),
        *_private(catalogue),
        *_pictures(catalogue, names),
        *_pairs(catalogue, names),
        *_views(catalogue, names),
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
        yield say_n(
            "{files} is in {folder} and not named in {table}, so left aside.",
            "{files} are in {folder} and not named in {table}, so left aside.",
            len(stray),
            files=_several(stray),
            folder=PICTURES_FOLDER,
            table=PICTURES_FILE,
        )
    if not folder.catalogue.sets:
        yield say("There is no pair set, so nobody can take pairs from the shelf: write one in pair-sets.toml.")


def _private(catalogue: FolderCatalogue) -> Iterator[str]:
    without = sorted(picture.file for picture in catalogue.pictures if not is_hall_wide(picture))
    if without:
        yield say_n(
            "{files} is not seen by anybody but the one who imports: dcterms:rights, dc:creator or photoshop:Credit is missing.",
            "{files} are not seen by anybody but the one who imports: dcterms:rights, dc:creator or photoshop:Credit is missing.",
            len(without),
            files=_several(without),
        )


def _held(catalogue: FolderCatalogue) -> tuple[Held, ...]:
    return tuple(
        Held(one.form, one.use, {"orientation": one.orientation, "pose": one.pose, "setting": one.setting}) for one in catalogue.pictures
    )


def _pictures(catalogue: FolderCatalogue, names: Names) -> Iterator[str]:
    for wanted in wanted_of([form.key for form in catalogue.forms], [], _held(catalogue)):
        yield from _of_form(wanted, names.form(wanted.form))


def _of_form(wanted: FormWanted, form: str) -> Iterator[str]:
    held = say_n("{form}: {n} practice picture", "{form}: {n} practice pictures", wanted.practice, form=form)
    if not wanted.practice:
        yield say("{held}; its pairs cannot be drilled. Aim for {aim}.", held=held, aim=AIM)
    elif wanted.is_few:
        yield say("{held}; fewer than {few} are learnt by heart. Aim for {aim}.", held=held, few=FEW, aim=AIM)
    elif wanted.practice_wanted:
        yield say("{held}. Aim for {aim}.", held=held, aim=AIM)
    if wanted.portraits_wanted:
        yield say("{form}: {count} of {all} portraits.", form=form, count=wanted.portraits, all=PORTRAITS)
    if wanted.held_out_wanted:
        yield say("{form}: {count} of {all} held-out pictures, which tests need.", form=form, count=wanted.held_out, all=HELD_OUT)


def _views(catalogue: FolderCatalogue, names: Names) -> Iterator[str]:
    """A view, pose or setting that only one form of a pair is seen in gives the answer away."""
    for one in views_wanted([pair.forms for pair in catalogue.pairs], _held(catalogue)):
        words = joined(", ", [_WORDS.get(one.view, {}).get(word, word) for word in one.words])
        yield _LACKING[one.view].filled(form=names.form(one.form), words=words, other=names.form(one.other))


def _marks(catalogue: FolderCatalogue) -> Iterator[str]:
    marked = {mark.trait for picture in catalogue.pictures for mark in picture.marks}
    used = {trait for form in catalogue.forms for trait in (*form.traits, *form.measures)}
    for trait in catalogue.traits:
        if trait.key not in used:
            yield say("Trait {trait}: no form says how often it shows it.", trait=trait.label or trait.key)
        elif trait.states and trait.key not in marked and catalogue.pictures:
            yield say("Trait {trait}: marked on no picture, so “where do I look?” cannot point at it.", trait=trait.label or trait.key)


def _parts(catalogue: FolderCatalogue) -> Iterator[str]:
    for trait in catalogue.traits:
        if trait.part and trait.part not in PARTS:
            yield say(
                "Trait {trait}: the part {part} is a word of your own; other programs will read “unspecified part”.",
                trait=trait.label or trait.key,
                part=trait.part,
            )


def _pairs(catalogue: FolderCatalogue, names: Names) -> Iterator[str]:
    forms = {form.key: form for form in catalogue.forms}
    for pair in catalogue.pairs:
        first, second = (forms.get(key) for key in pair.forms)
        if first is None or second is None:
            continue
        worth = [_bits(catalogue, first, second, key) for key in first.traits.keys() & second.traits.keys()]
        if not any(bits >= TELLS_BITS for bits in worth):
            yield say("{pair}: no trait tells the two apart, so a miss cannot be explained.", pair=names.pair(pair.forms))


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


def _several(names: list[str]) -> Said:
    shown = ", ".join(names[:3])
    return say("{names} and {count} more", names=shown, count=len(names) - 3) if len(names) > 3 else joined("", [shown])
