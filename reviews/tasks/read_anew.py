"""Show a picture as its file means it that was read before grids, spot plates and numbers with a sign were told."""

from __future__ import annotations

import tempfile
from pathlib import Path

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.actions.pictures import keep_new_facts
from reviews.imaging.decode import examine
from reviews.imaging.renditions import make_renditions
from reviews.imaging.results import Refusal
from reviews.queries.pictures import facts_of, is_marked, sha256_of
from reviews.tasks.registry import does


@does(jobs.READ_ANEW)
def read_anew(claim: Claim) -> None:
    """Make what is shown again where the header now says something else; a second run changes nothing.

    A picture that would have another size stays as it is where notes lie on it: they were placed on what was seen.
    """
    sha256 = sha256_of(claim.subject_id)
    known = facts_of(sha256)
    if known is None or "plates" in known[1]:
        return
    with storage.open_original_locally(sha256) as original, tempfile.TemporaryDirectory(prefix="renditions-") as name:
        header = examine(original)
        if isinstance(header, Refusal):
            return  # It is shown as it was when it was taken.
        size = header.width_px, header.height_px
        told = size, header.mode, header.n_pages
        is_same = told == (known[0], known[1].get("mode"), known[1].get("n_pages"))
        if (is_same and not header.plates and header.assumed_profile not in ("signed", "signed-profile")) or (
            size != known[0] and is_marked(sha256)
        ):
            return
        made = make_renditions(original, Path(name), is_strict=False)
        if isinstance(made, Refusal):
            return
        storage.keep_renditions(sha256, Path(name), anew=True)
    keep_new_facts(sha256, size_px=size, facts=made.kept_facts())
