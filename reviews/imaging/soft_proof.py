"""The door to soft proofs: a picture as a printing condition would print it, made in a confined child."""

from __future__ import annotations

from pathlib import Path

from reviews.imaging.child import sandbox
from reviews.imaging.decode import DEFAULT_LIMITS, unreadable
from reviews.imaging.limits import Limits
from reviews.imaging.results import Refusal
from reviews.press.soft_proof import NotProofed, SoftChoice, SoftFound


def soft_proof_of(
    path: Path, profile: Path, choice: SoftChoice, folder: Path, *, limits: Limits = DEFAULT_LIMITS
) -> SoftFound | NotProofed | Refusal:
    """Write ``soft-KEY.jpg``, and ``soft-KEY.png`` of what lies outside, into a folder.

    Memory does not grow with the picture.
    """
    refused = unreadable(path) or unreadable(profile)
    if refused is not None:
        return refused
    answer = sandbox.run(
        "soft",
        {
            "path": str(path.resolve()),
            "is_strict": False,  # it was accepted before, and is shown
            "profile": str(profile.resolve()),
            "rendering": str(choice.rendering),
            "has_black_point": choice.has_black_point,
            "shows_paper": choice.shows_paper,
            "out_picture": str((folder / choice.file_name("jpg")).resolve()),
            "out_outside": str((folder / choice.file_name("png")).resolve()),
        },
        limits,
    )
    if isinstance(answer, Refusal):
        return answer
    return SoftFound(**answer["soft"]) if answer["soft"] else NotProofed(answer["code"])
