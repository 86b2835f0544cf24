"""The shape of what the ledger keeps of stages that were named."""

from __future__ import annotations

from typing import TypedDict

_FromTo = TypedDict("_FromTo", {"from": str, "to": str})


class NamedStage(_FromTo):
    """A stage by its code, and its name before and after."""

    stage: str


class NameStagesData(TypedDict):
    """A book named stages."""

    names: list[NamedStage]
