"""The marked places of a letter and the pictures it approves, for its PDF and its mail."""

from __future__ import annotations

from reviews.geometry import region_from_json
from reviews.imaging.marked_crop import cut_marked_place
from reviews.imaging.results import PREVIEW_NAME, THUMB_NAME
from reviews.pages.letter_pages import LetterPage
from reviews.queries.pictures import rendition
from reviews.rules.crops import crop_around
from reviews.rules.states import Reach
from reviews.rules.strokes import runs_of


def places_marked(page: LetterPage) -> dict[int, bytes]:
    """Cut one JPEG for each note of the letter; a note whose picture has no preview is left out."""
    previews: dict[int, bytes | None] = {}
    cut = {}
    for note in page.notes:
        if note.row.reach != Reach.PLACE:
            continue
        picture = note.row.picture
        if picture.pk not in previews:
            previews[picture.pk] = rendition(picture, PREVIEW_NAME)
        preview = previews[picture.pk]
        if preview is not None:
            runs = [(run.points, run.width) for run in runs_of(note.row.strokes)]
            cut[note.row.pk] = cut_marked_place(preview, region_from_json(note.row.region), crop_around, runs)
    return cut


def approved_pictures(page: LetterPage, *, small: bool = False) -> dict[int, bytes]:
    """Read the picture of each approval, by passage; ``small`` for mail. What has no preview is left out."""
    found = {}
    for section in page.approved:
        shown = rendition(section.picture, THUMB_NAME if small else PREVIEW_NAME) if section.picture else None
        if shown is not None:
            found[section.passage] = shown
    return found
