"""A manuscript in words: why it could not be read, what to know of how it was, what it was broken by."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from reviews.rules.manuscript import BrokenBy, ManuscriptRemark

MANUSCRIPT_REFUSALS: Mapping[str, Any] = {
    "manuscript-empty": _("There are no words in it. Paste the text, or choose the file that has it."),
    "manuscript-both": _("There is a pasted text and a file. Take one: empty the field, or leave the file out."),
    "manuscript-too-long": _("The text has more than {most} characters. Bring it in parts."),
    "manuscript-file-too-large": _(
        "The file is larger than {most} MB, which no text is by itself. Take the pictures out of it, or paste its "
        "words."
    ),
    "manuscript-kind": _(
        "This is neither plain text nor a .docx file. Save it as one of the two in the program that wrote it, or paste "
        "its words."
    ),
    "manuscript-old-format": _(
        "This is a file in the older .doc form, or one that opens with a password only. Save it as .docx without a "
        "password, or paste its words."
    ),
    "manuscript-locked": _("The file opens with a password only. Save it without one, or paste its words."),
    "manuscript-broken": _(
        "The file is damaged: it begins as a .docx and cannot be read to its end. Save it once more, or paste its "
        "words."
    ),
    "manuscript-too-packed": _(
        "The file unpacks to far more than a text is, so it was not read any further. Save it anew, or paste its words."
    ),
    "manuscript-entities": _(
        "The file defines shorthands of its own inside, which a .docx never does, so it was not read. Paste its words."
    ),
    "manuscript-nothing-to-move": _("There is no text there to move. Look at the pages as they stand now."),
    "manuscript-no-page-beyond": _("There is no free page beyond to move it to."),
    "manuscript-page-too-long": _("Page {page} has more than {most} characters. Move some of it to another page."),
    "manuscript-several-blocks": _(
        "{n} blocks stand on page {page} already, so nobody can know which is meant. Change them on the text page of "
        "that spread, and move its words off page {page} here."
    ),
    "manuscript-unreadable": _("The text could not be read as it was sent. Paste it once more."),
}

_REMARKS: Mapping[str, Promise] = {
    "no-such-page": _("“{line}” names no page of this book. It is left in the text, where it stood."),
    "out-of-order": _("Page {page} comes after page {after} in the text. Here it stands in page order."),
    "guessed-encoding": _("The file does not say how its letters are written: read as Windows-1252. Check accents."),
    "tracked": _("The file has tracked changes. It was read as if all were accepted."),
    "boxes": _("The file has text boxes. What stands in them was not read."),
    "notes": _("The file has footnotes or endnotes. They were not read."),
    "comments": _("The file has comments. They were not read."),
}

BROKEN_BY: Mapping[BrokenBy, Promise] = {
    BrokenBy.HEADINGS: _("Broken where the text itself names a page or a spread."),
    BrokenBy.PAGE_BREAKS: _("Broken at the file’s page breaks, one spread each: a suggestion."),
    BrokenBy.BLANK_LINES: _("The text names no pages, so it is shared out evenly at its blank lines: a suggestion."),
}


def remark_words(remark: ManuscriptRemark) -> str:
    """Put a remark in words."""
    return str(_REMARKS[remark.code]).format(**remark.values)
