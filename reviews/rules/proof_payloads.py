"""The shape of the payload of a measured proof."""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict


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
