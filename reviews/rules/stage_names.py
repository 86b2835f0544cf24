"""What a book calls its stages: its own names over the stable codes that the ledger keeps."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from reviews.rules.states import STAGE_NAMES, Refused, StageKind

MOST_LETTERS = 40


def name_of(stage: str, own: Mapping[str, str]) -> str:
    """Name a stage as a book does, or else as everybody does."""
    return own.get(stage) or STAGE_NAMES[StageKind(stage)]


def checked_names(
    wanted: Mapping[StageKind, str], own: Mapping[str, str], *, opened: Collection[str]
) -> dict[str, str]:
    """Return a book's names with the wanted ones in place; an empty one gives the stage its usual name back.

    Raises
    ------
    Refused
        ``stage-name-long``, ``stage-name-odd``, ``stage-name-twice``, or ``stage-name-opened`` for a stage that
        opened on any spread: what people have read and signed off bears the name it bore.
    """
    names = dict(own)
    for stage, typed in wanted.items():
        name = " ".join(typed.split())
        if not name.isprintable() or any(mark in name for mark in ",:;"):
            raise Refused("stage-name-odd", name=name)
        if len(name) > MOST_LETTERS:
            raise Refused("stage-name-long", name=name, n=MOST_LETTERS)
        kept = "" if name == STAGE_NAMES[stage] else name
        others = (STAGE_NAMES[other].casefold() for other in StageKind if other != stage)
        if kept != own.get(stage, "") and kept.casefold() in others:
            # Two stages that trade their usual names would change what agreed terms read as.
            raise Refused("stage-name-twice", name=kept)
        if kept != own.get(stage, "") and stage in opened:
            raise Refused("stage-name-opened", name=name_of(stage, own))
        names.pop(stage.value, None)
        if kept:
            names[stage.value] = kept
    told: dict[str, StageKind] = {}
    for stage in StageKind:
        name = name_of(stage, names)
        other = told.setdefault(name.casefold(), stage)
        # Two that bore one name before, as when a stage of that name came in later, keep nobody from naming a third.
        if other != stage and any(name_of(one, own).casefold() != name.casefold() for one in (stage, other)):
            raise Refused("stage-name-twice", name=name)
    return names
