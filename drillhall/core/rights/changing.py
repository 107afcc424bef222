"""Says beforehand what comes of giving a picture other rights."""

from __future__ import annotations

from drillhall.core.rights.judging import columns
from drillhall.core.rights.values import Rights
from drillhall.words import Said, say


def consequences(before: Rights, after: Rights) -> tuple[Said, ...]:
    """Return what happens when rights are changed and cannot simply be changed back, or takes something from others; may be empty.

    Source: CC 4.0 section 6(b) and 3.0 section 7(b): a licence once given holds for whoever has a copy, for good.

    Examples
    --------
    >>> from drillhall.core.licences import CC0
    >>> consequences(Rights("Ada Mudd", CC0, "Ada Mudd"), Rights("Ada Mudd", CC0, "A. Mudd"))
    ()
    """
    told = []
    if after.licence is not None and after.licence.is_open and after.licence != before.licence:
        told.append(
            say("Whoever gets a copy under {licence} may use it so for good: you cannot take that back.", licence=after.licence.name)
        )
    if before.licence is not None and before.licence.is_open and after.licence != before.licence:
        told.append(
            say(
                "Copies that have gone out under {licence} stay under it. The hall itself goes by your new word.",
                licence=before.licence.name,
            )
        )
    had, has = columns(before), columns(after)
    if had.may_group and not has.may_group:
        told.append(say("Nobody but you is shown it from now on. Answers given on it stay."))
    elif had.may_alter and not has.may_alter:
        told.append(say("Others are shown it whole and as it is from now on, neither cut nor altered."))
    if has.may_group and had.may_public and not has.may_public:
        told.append(say("It stands on no public page and leaves in no export from now on."))
    if has.may_group and had.may_paid and not has.may_paid:
        told.append(say("Groups that people pay for are not shown it from now on."))
    if after.until is not None and (before.until is None or after.until < before.until):
        told.append(say("After {day} nobody is shown it, you neither.", day=after.until.isoformat()))
    return tuple(told)
