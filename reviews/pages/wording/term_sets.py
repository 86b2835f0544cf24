"""Ready sets of terms: what they are called and where their figures come from; and the caution beside every figure."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from reviews.rules.contract.term_sets import Source

CAUTION = _(
    "Worked out from the terms this book is counted by. Check every figure against the signed contract and the law "
    "that governs it before you act on it."
)

READY_SET_NAMES: dict[str, Promise] = {
    "illustrator": _("Book, as illustrators' bodies advise"),
    "trade": _("Book, as trade publishers often write it"),
    "short": _("One picture or a cover alone"),
}
READY_SET_WORDS: dict[str, Promise] = {
    "illustrator": _(
        "Thirds on signature, sketches and colour; late answers move the dates; a brief that was missed uses no round. "
        "Common practice, not law."
    ),
    "trade": _(
        "A quarter, a half and a quarter; four weeks to answer; every letter with changes is a round. Common practice, "
        "not law."
    ),
    "short": _("Half and half, four days to answer. Common practice, not law."),
}

#: As they stand beside each figure. A figure without a source that could be read is called common practice.
SOURCE_WORDS: dict[Source, Promise] = {
    Source.COMMON: _("common practice"),
    Source.ILLUSTRATORS_BODY: _("an adviser of the Association of Illustrators, in Creative Bloq"),
    Source.GUILD_TERMS: _("terms based on the Graphic Artists Guild’s form"),
    Source.PUBLIC_TERMS: _("public terms of working illustrators"),
    Source.PRIVATE_CLIENTS: _("an illustrator’s own agreement with private clients, no publisher’s contract"),
}
