"""A manuscript as it is brought: pasted, or a file; and one that is broken over pages, on its way to be kept."""

from __future__ import annotations

import re
from collections.abc import Sequence

from django import forms

from reviews.rules.manuscript import MOST_BYTES, BreakMove, BrokenText, FileText, PagesOfArt, break_over, text_of
from reviews.rules.states import Refused

_LANGUAGE = r"^[a-z]{2,3}(-[A-Za-z0-9]{2,8}){0,3}$"
_SEEN = r"^(\d{1,9}:\d{1,5})?(,\d{1,9}:\d{1,5}){0,199}$"
_MOVE = re.compile(rf"^({'|'.join(move.value for move in BreakMove)}):(\d{{1,4}})$")


class ManuscriptForm(forms.Form):
    """The text, by one of two ways, and the language it is in."""

    words = forms.CharField(
        label="Paste the text",
        required=False,
        strip=False,
        help_text="With lines such as “Page 4” or “Spread 3” where it says so itself; blank lines between its parts.",
        widget=forms.Textarea(attrs={"rows": 14, "spellcheck": "false"}),
    )
    file = forms.FileField(
        label="Or a file: .docx or plain text",
        required=False,
        help_text="Only its words are read; the file itself is not kept.",
        widget=forms.ClearableFileInput(attrs={"accept": ".docx,.txt,text/plain"}),
    )
    language = forms.RegexField(
        label="Language, as its tag",
        regex=_LANGUAGE,
        initial="en",
        error_messages={"invalid": "Write the language as its tag, such as en, cy or pt-BR."},
        help_text=(
            "en for English, cy for Welsh, pt-BR for Brazilian Portuguese. Text that is placed already keeps its own."
        ),
    )

    def text(self) -> FileText:
        """Give the text that was brought; raise Refused where there is none, or two."""
        upload, pasted = self.cleaned_data["file"], self.cleaned_data["words"]
        if upload is None:
            return FileText(pasted)
        if pasted.strip():
            raise Refused("manuscript-both")
        if upload.size > MOST_BYTES or getattr(upload, "refusal", None) is not None:
            raise Refused("manuscript-file-too-large", most=MOST_BYTES // (1024 * 1024))
        return text_of(upload.read())


class BrokenForm(forms.Form):
    """A text with its page lines, the versions its reader began from, and perhaps one break to move."""

    words = forms.CharField(strip=False)
    language = forms.RegexField(regex=_LANGUAGE)
    seen = forms.RegexField(regex=_SEEN, required=False)
    move = forms.RegexField(regex=_MOVE, required=False)

    def broken(self, art: Sequence[PagesOfArt]) -> BrokenText:
        """Read the text over its pages; raise Refused where it cannot be read."""
        if not self.is_valid():
            raise Refused("manuscript-unreadable")
        return break_over(self.cleaned_data["words"], art)

    @property
    def carried(self) -> tuple[str, str]:
        """Give what goes on with the text from page to page: its language, and the versions as they are posted."""
        return self.cleaned_data["language"], self.cleaned_data["seen"]

    @property
    def versions(self) -> dict[int, int]:
        """Give the versions by spread."""
        pairs = (one.split(":") for one in self.cleaned_data["seen"].split(",") if one)
        return {int(spread): int(version) for spread, version in pairs}

    @property
    def asked_move(self) -> tuple[BreakMove, int] | None:
        """Give the break that is to be moved, and from which page."""
        found = _MOVE.fullmatch(self.cleaned_data["move"])
        return (BreakMove(found[1]), int(found[2])) if found else None
