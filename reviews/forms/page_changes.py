"""What is to change about a book's pages, as the forms of its page send it."""

from __future__ import annotations

from typing import Any

from django import forms

from reviews.rules.page_changes import PageDeed, WantedPages

#: No book has more pages; the printed object says which numbers can be bound.
MOST_PAGES = 999


class PagesForm(forms.Form):
    """``place`` is the first and last page of free pages, as "6-7"; ``seen`` the open proposal that was on the page."""

    what = forms.ChoiceField(choices=[(what.value, what.value) for what in PageDeed])
    spread = forms.IntegerField(required=False, min_value=1)
    place = forms.RegexField(r"^\d{1,3}-\d{1,3}$", required=False)
    n_pages = forms.IntegerField(required=False, min_value=1, max_value=MOST_PAGES)
    reason = forms.CharField(required=False, max_length=300)
    seen = forms.IntegerField(required=False, min_value=1)

    #: What each kind of change has to say.
    _OWED = {
        PageDeed.DROP: ("spread",),
        PageDeed.ADD: ("place",),
        PageDeed.BACK: ("spread", "place"),
        PageDeed.COUNT: ("n_pages",),
    }

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or {}
        if "what" in given:
            for name in self._OWED[PageDeed(given["what"])]:
                if not given.get(name):
                    self.add_error(name, "Choose one.")
        return given

    @property
    def wanted(self) -> WantedPages:
        """Give what is asked, of a form that is valid."""
        given = self.cleaned_data
        owed = self._OWED[PageDeed(given["what"])]
        pages = [int(page) for page in given["place"].split("-")] if "place" in owed else []
        place = dict(zip(("first_page", "last_page"), pages, strict=False))
        own = {name: given[name] for name in ("spread", "n_pages") if name in owed}
        return WantedPages(what=PageDeed(given["what"]), **own, **place)
