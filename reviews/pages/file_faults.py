"""What speaks against a picture of a draft in print, in words beside it."""

from __future__ import annotations

from reviews.models import Passage, Picture
from reviews.pages.wording import pieces as piece_words
from reviews.pages.wording import press as press_words
from reviews.press.file_check import FileFault
from reviews.queries.file_faults import check_picture, is_checked
from reviews.rules.states import PictureState


def file_cautions(picture: Picture, passage: Passage) -> list[str]:
    """Say what speaks against a picture of a draft, from what was stored when it was read (no query, no pixels).

    Nothing where nothing can be told: of what is not read yet, and of the size of a cover whose paper is not known. An
    empty list vouches for nothing.
    """
    stored = picture.facts
    if picture.state != PictureState.READY or "mode" not in stored:
        return []
    cautions = [piece_words.of_several(stored["n_pages"])] if stored.get("n_pages", 1) > 1 else []
    if stored["mode"].startswith("CMYK"):
        cautions.append(str(piece_words.CMYK))
    if not is_checked(picture, passage):
        return cautions
    faults = check_picture(picture, passage).report.faults
    return cautions + [press_words.fault(found) for found in faults if found.code not in _UNTOLD_OF_DRAFT]


#: What the list of a draft leaves to the check beside it: what is for the printer to know, and no fault of the file.
_UNTOLD_OF_DRAFT = frozenset({FileFault.RGB, FileFault.SIXTEEN_BITS})
