"""The pages on which a steward says a catalogue's traits, states and pairs in other languages than its own."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, request, url_for

from drillhall.catalogues.editing import asked, tongues
from drillhall.catalogues.editing.changing import Act, Opened, Stale
from drillhall.catalogues.editing.things import the_thing
from drillhall.catalogues.folder import FolderTrait
from drillhall.core.values import Words
from drillhall.errors import Invalid, NotFound
from drillhall.web.catalogue.room import Page, blueprint, keep, kept, look, typed
from drillhall.words import say
from drillhall.words.speaking import offered


@blueprint.get("/<key>/languages")
def languages(key: str) -> Page:
    """Show in which languages a catalogue is said, and how much of it; a language that was asked for leads to its page."""
    opened, wrong = look(key), None
    if asked_for := request.args.get("language", "").strip():
        try:
            return redirect(url_for("catalogue.language", key=key, tongue=tongues.the_language(opened.said, asked_for)), code=303)
        except Invalid as refused:
            wrong = refused
    told = [tongues.how_much(opened.said, tongue) for tongue in tongues.languages_said(opened.said)]
    page = render_template("catalogue/languages.html", key=key, said=opened.said, told=told, suggested=offered(), wrong=wrong)
    return (page, 422) if wrong else page


@blueprint.get("/<key>/languages/<tongue>")
def language(key: str, tongue: str) -> Page:
    """Show what of a catalogue is said in a language, and what is not yet."""
    opened, tongue = _opened(key, tongue)
    whole = {trait.key: tongues.is_said_whole(trait, tongue) for trait in opened.said.traits}
    told = tongues.how_much(opened.said, tongue)
    return render_template("catalogue/language.html", key=key, said=opened.said, tongue=tongue, told=told, whole=whole)


@blueprint.get("/<key>/languages/<tongue>/traits/<trait_key>")
def trait_words(key: str, tongue: str, trait_key: str) -> Page:
    """Show what a trait and its states are called in a language, to be changed."""
    return _trait_page(key, tongue, trait_key)


@blueprint.post("/<key>/languages/<tongue>/traits/<trait_key>")
def change_trait_words(key: str, tongue: str, trait_key: str) -> Page:
    """Say a trait and its states in a language, and go on to the next that is not yet said."""
    opened, tongue = _opened(key, tongue)
    found = the_thing(opened.said.traits, trait_key, "trait")
    return kept(
        lambda: _say_trait(key, tongue, found),
        lambda **told: _trait_page(key, tongue, trait_key, **told),
        **_after(opened, key, tongue, trait_key),
    )


@blueprint.get("/<key>/languages/<tongue>/pairs/<pair_key>")
def pair_words(key: str, tongue: str, pair_key: str) -> Page:
    """Show the note of a pair in a language, to be changed."""
    return _pair_page(key, tongue, pair_key)


@blueprint.post("/<key>/languages/<tongue>/pairs/<pair_key>")
def change_pair_words(key: str, tongue: str, pair_key: str) -> Page:
    """Say the note of a pair in a language."""
    _, tongue = _opened(key, tongue)
    return kept(
        lambda: _say_note(key, tongue, pair_key),
        lambda **told: _pair_page(key, tongue, pair_key, **told),
        "catalogue.language",
        key=key,
        tongue=tongue,
        _anchor="pairs",
    )


def _opened(key: str, tongue: str) -> tuple[Opened, str]:
    """Return a catalogue and the language as it is written there; raises NotFound for what is no other language than its own."""
    opened = look(key)
    try:
        return opened, tongues.the_language(opened.said, tongue)
    except Invalid as wrong:
        raise NotFound(wrong.sentence) from wrong


def _say_trait(key: str, tongue: str, found: FolderTrait) -> None:
    given = typed()
    words = Words(**asked.read_asked(asked.TRAIT_WORDS, given))
    states = {state: Words(label=label, also_called=asked.read_words(also)) for state, label, also in _typed_states(given)}
    act = Act("changed", f"traits/{found.key}")
    keep(key, lambda said: tongues.say_trait(said, found.key, tongue, words, states), act, _scope(found, tongue))


def _typed_states(given: dict[str, str]) -> list[tuple[str, str, str]]:
    """Return key, word and other words of each state that stood in the form; raises Invalid for a word too long."""
    keys = [name.split(".")[1] for name in given if name.startswith("state.") and name.endswith(".label")]
    rows = [(key, given[f"state.{key}.label"].strip(), given.get(f"state.{key}.also", "")) for key in keys]
    if any(len(label) > asked.WORD for _, label, _ in rows):
        raise Invalid(say("A state's word is too long: 120 letters at most."), field="states")
    return rows


def _say_note(key: str, tongue: str, pair_key: str) -> None:
    note = asked.read_asked(asked.PAIR_WORDS, typed())["note"]
    act, scope = Act("changed", f"pairs/{pair_key}"), (f"pairs/{pair_key}/said/{tongue}",)
    keep(key, lambda said: tongues.say_note(said, pair_key, tongue, note), act, scope)


def _scope(found: FolderTrait, tongue: str) -> tuple[str, ...]:
    """Return what two stewards may not change at once: the words of one trait in one language."""
    top = f"traits/{found.key}"
    return (f"{top}/said/{tongue}", *(f"{top}/states/{state.key}/said/{tongue}" for state in found.states))


def _after(opened: Opened, key: str, tongue: str, trait_key: str) -> dict[str, Any]:
    """Return where to go on to once a trait is said: the next that is not, else the page of the language."""
    if following := tongues.next_unsaid(opened.said, tongue, after=trait_key):
        return {"endpoint": "catalogue.trait_words", "key": key, "tongue": tongue, "trait_key": following}
    return {"endpoint": "catalogue.language", "key": key, "tongue": tongue, "_anchor": "traits"}


def _trait_page(key: str, tongue: str, trait_key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    opened, tongue = _opened(key, tongue)
    found = the_thing(opened.said.traits, trait_key, "trait")
    return render_template(
        "catalogue/trait_words.html",
        key=key,
        said=opened.said,
        tongue=tongue,
        trait=found,
        words=found.said.get(tongue, Words()),
        states={state.key: state.said.get(tongue, Words()) for state in found.states},
        goes_on=tongues.next_unsaid(opened.said, tongue, after=trait_key),
        version=opened.version(_scope(found, tongue)),
        wrong=wrong,
        stale=stale,
    )


def _pair_page(key: str, tongue: str, pair_key: str, *, wrong: Invalid | None = None, stale: Stale | None = None) -> str:
    opened, tongue = _opened(key, tongue)
    found = the_thing(opened.said.pairs, pair_key, "pair")
    return render_template(
        "catalogue/pair_words.html",
        key=key,
        said=opened.said,
        tongue=tongue,
        pair=found,
        forms=[the_thing(opened.said.forms, form, "form") for form in found.forms],
        words=found.said.get(tongue, Words()),
        version=opened.version((f"pairs/{pair_key}/said/{tongue}",)),
        wrong=wrong,
        stale=stale,
    )
