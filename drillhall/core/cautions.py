"""What the hall says for the safety of people and of what they look at: by subject, and by the place where it stands."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from drillhall.core.terms import SUBJECTS
from drillhall.errors import Invalid
from drillhall.words import Said, say

PLACES: Final = ("today", "drill_end", "upload", "print")
"""Today of a new learner, under the end of each drill, where pictures are added, on every sheet and print."""

_PRACTICE: Final = say(
    'A drill is practice, not proof: it makes you quicker, not certain. In the field, "one of the two" is a good record.'
)
_PLAIN_PRACTICE: Final = say("A drill is practice, not proof: it makes you quicker, not certain.")
_RARITY: Final = say(
    "Whether a rare record stands is for your local records committee; protected species are for people who hold the licence."
)
_LOCAL_RULES: Final = say("Local rules and wardens decide.")

_KEEP_BACK: Final = say(
    "Do not press close for a better view or picture: a flushed roost or a disturbed nest costs lives. "
    "If heads go up, you are too near: go back the way you came."
)
_STAY_ASHORE: Final = say(
    "Tide and mud kill: check the tide table and the weather, be back well before the water turns, never cross mud or a creek "
    "as a short cut, and tell someone where you go and when you will be back."
)
_NO_NESTS: Final = say("Add no picture of a nest or a roost, and name no place for one.")
_NO_DENS: Final = say("Add no picture of a den, a nest or a resting place, and name no place for one.")
_NO_PLACE: Final = say("Name no place where something rare or protected grows or lives.")
_LEAVE_IT_THERE: Final = say("Leave it where it is and as it is: dig up, pick and turn over nothing for a picture.")
_HANDLING: Final = say("Catching, handling and moving wild animals usually needs a licence.")

_RINGERS: Final = say("Handling birds is for licensed ringers: type in what one of them has measured.")

_BIRD_FIRST: Final = say(
    "The bird comes before the picture: if it stopped feeding, called in alarm or flew because of the camera, do not add the picture. "
    "Use no call, bait, light or drone."
)
_ANIMAL_FIRST: Final = say(
    "The animal comes before the picture: if it fled, froze or left its young because of the camera, do not add the picture. "
    "Use no call, bait, light or drone."
)

_TOUCH_BANNER: Final = say(
    "Look, do not touch. Some animals bite, sting or carry poison in their skin, and a drill cannot tell you which one you hold."
)
_EAT_BANNER: Final = say(
    "Never eat, pick or handle anything on the strength of a drill, and give none of it to anyone. A picture shows no smell, no taste and "
    "no place, and look-alikes kill. Have each find checked in the hand by someone local who knows; "
    "if any was eaten, call the poison centre or the emergency number now."
)
_SHELLFISH_BANNER: Final = say(
    "Never eat, gather or handle anything on the strength of a drill, and give none of it to anyone. A picture shows neither poison "
    "in the flesh nor what is in the water. Ask the local authority whether the shore is open; "
    "if any was eaten and someone feels ill, call the poison centre or the emergency number now."
)

_Texts = Mapping[str, tuple[Said, ...]]

_BIRD: Final[_Texts] = {
    "today": (_PRACTICE, _RARITY, _KEEP_BACK, _STAY_ASHORE, _LOCAL_RULES),
    "drill_end": (_PRACTICE, _RARITY),
    "upload": (_BIRD_FIRST, _NO_NESTS, _NO_PLACE, _LOCAL_RULES),
    "print": (_PRACTICE, _RARITY, _KEEP_BACK, _STAY_ASHORE, _LOCAL_RULES),
}
_OTHER_ANIMAL: Final[_Texts] = {
    "today": (_PRACTICE, _RARITY, _KEEP_BACK, _HANDLING, _STAY_ASHORE, _LOCAL_RULES),
    "drill_end": (_PRACTICE, _RARITY),
    "upload": (_ANIMAL_FIRST, _NO_DENS, _NO_PLACE, _LOCAL_RULES),
    "print": (_PRACTICE, _RARITY, _KEEP_BACK, _HANDLING, _STAY_ASHORE, _LOCAL_RULES),
}
_ROOTED: Final[_Texts] = {
    "today": (_PRACTICE, _RARITY, _LEAVE_IT_THERE, _LOCAL_RULES),
    "drill_end": (_PRACTICE, _RARITY),
    "upload": (_LEAVE_IT_THERE, _NO_PLACE, _LOCAL_RULES),
    "print": (_PRACTICE, _RARITY, _LEAVE_IT_THERE, _LOCAL_RULES),
}
_ON_THE_SHORE: Final[_Texts] = {
    **_ROOTED,
    "today": (_PRACTICE, _RARITY, _LEAVE_IT_THERE, _STAY_ASHORE, _LOCAL_RULES),
    "print": (_PRACTICE, _RARITY, _LEAVE_IT_THERE, _STAY_ASHORE, _LOCAL_RULES),
}
# A set about no wild species has no field to be careful in; a learner is still told what a drill is.
_NO_SPECIES: Final[_Texts] = {
    "today": (_PLAIN_PRACTICE,),
    "drill_end": (_PLAIN_PRACTICE,),
    "upload": (say("Add no picture of a person without leave."), say("Name no place that someone would rather keep to themselves.")),
    "print": (_PLAIN_PRACTICE,),
}

_BY_SUBJECT: Final[Mapping[str, _Texts]] = MappingProxyType(
    {
        "bird": _BIRD,
        "other animal": _OTHER_ANIMAL,
        "plant": _ROOTED,
        "fungus": _ROOTED,
        "shellfish": _ON_THE_SHORE,
        "other": _NO_SPECIES,
    }
)

_BANNERS: Final[Mapping[str, Said]] = MappingProxyType(
    {"other animal": _TOUCH_BANNER, "plant": _EAT_BANNER, "fungus": _EAT_BANNER, "shellfish": _SHELLFISH_BANNER}
)


def cautions(subject: str, place: str) -> tuple[Said, ...]:
    """Return what to say about a subject in a place, sentence by sentence, the most needed first.

    Raises
    ------
    Invalid : an unknown subject
    ValueError : an unknown place, which is a fault of the page

    Examples
    --------
    >>> cautions("other", "drill_end")
    ('A drill is practice, not proof: it makes you quicker, not certain.',)
    """
    _refuse_unknown(subject)
    if place not in PLACES:
        raise ValueError(f"no cautions stand at {place!r}")
    return _BY_SUBJECT[subject][place]


def fixed_banner(subject: str) -> str:
    """Return the banner that stands on every page of the subject and that nobody can switch off; empty where none is needed.

    Raises
    ------
    Invalid : an unknown subject

    Examples
    --------
    >>> fixed_banner("bird")
    ''
    """
    _refuse_unknown(subject)
    return _BANNERS.get(subject, "")


def _refuse_unknown(subject: str) -> None:
    if subject not in _BY_SUBJECT:
        raise Invalid(
            say('"{subject}" is no subject of a catalogue: choose one of {choices}.', subject=subject, choices=", ".join(SUBJECTS)),
            field="subject",
        )


def in_the_hand(subject: str) -> Said:
    """Return what stands where a measure can be typed in: who may handle what is measured."""
    return {"bird": _RINGERS, "other animal": _HANDLING}.get(subject, _LEAVE_IT_THERE)
