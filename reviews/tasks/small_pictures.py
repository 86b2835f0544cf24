"""Make what the wall shows of a picture that was read before there was a wall: a mini and its main colours."""

from __future__ import annotations

import tempfile
from pathlib import Path

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.actions.pictures import keep_colours
from reviews.imaging.results import MINI_NAME, THUMB_NAME
from reviews.imaging.tiles.mini import write_mini
from reviews.queries.pictures import sha256_of
from reviews.tasks.registry import does


@does(jobs.SMALL_PICTURE)
def make_small_picture(claim: Claim) -> None:
    """Make them from the thumb. The same thumb gives the same, so a second run does no harm."""
    sha256 = sha256_of(claim.subject_id)
    name = storage.rendition_name(sha256, THUMB_NAME)
    if not storage.exists(name):
        return  # The night's look at the store makes it again, and this with it.
    with tempfile.TemporaryDirectory(prefix="small-picture-") as folder:
        (Path(folder) / THUMB_NAME).write_bytes(storage.read_all(name))
        colours = write_mini(Path(folder))
        storage.keep_rendition(sha256, Path(folder) / MINI_NAME)
    keep_colours(sha256, colours)
