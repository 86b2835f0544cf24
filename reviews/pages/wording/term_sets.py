"""Ready sets of terms: what they are called and where their figures come from; and the caution beside every figure."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

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
    "short": _("Half and half, four days to answer, extra work by the hour. Common practice, not law."),
}
