"""The shape of the payload of a measured proof."""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict

from reviews.rules.payload_shapes import Where


class TakeOnFaultData(Where):
    """A stopper of final art is taken on at the proof: which fault with which figures, and why."""

    picture: int
    file_name: str
    sha256: str
    code: str
    values: dict[str, Any]
    reason: str


class JudgeProofData(TypedDict):
    """A proof was measured: against which aims, within which limits, and each line of the verdict."""

    proof: int
    file_name: str
    sha256: str
    reference: str
    reference_sha256: str
    limits: str
    verdict: str
    lines: list[dict[str, Any]]
    where: NotRequired[str]
