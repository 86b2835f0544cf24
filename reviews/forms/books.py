"""Set up a book: what is asked, in which shape."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.conf import settings
from django.utils.functional import Promise
from django.utils.text import format_lazy

from reviews.actions.books import NewBook
from reviews.forms.first_stages import FirstStages
from reviews.forms.where import PlaceField, ZoneField
from reviews.forms.wrong import WrongField, wrong_fields
from reviews.pages.wording.names import BINDING_WORDS, ENDS_WORDS
from reviews.pages.wording.plans import READY_PLAN_NAMES, READY_PLAN_WORDS
from reviews.pages.wording.press import refusal
from reviews.pages.wording.refusals import sentence_for
from reviews.pages.wording.stage_names import READY_NAME_WORDS, READY_NAMES
from reviews.press.page_plan import BOARD_SMALLEST, LARGEST, BindingKind, EndsKind, page_plan, usual_ends
from reviews.press.refused import CannotPrint
from reviews.rules.contract.plans import check_plan, check_reach
from reviews.rules.states import Refused, Role

OWN_SIZE = "own"
USUAL_ENDS = "usual"

# Common practice for picture books, width by height of one page; the printer's own sizes decide.
READY_SIZES: dict[str, tuple[str, Decimal, Decimal]] = {
    "square-250": ("250 × 250 mm, square", Decimal(250), Decimal(250)),
    "wide-270": ("270 × 230 mm, wide", Decimal(270), Decimal(230)),
    "tall-245": ("245 × 280 mm, tall", Decimal(245), Decimal(280)),
    "square-8-5-in": ("8½ × 8½ in, square", Decimal("215.90"), Decimal("215.90")),
    "tall-8-10-in": ("8 × 10 in, tall", Decimal("203.20"), Decimal("254.00")),
    "wide-10-8-in": ("10 × 8 in, wide", Decimal("254.00"), Decimal("203.20")),
    "tall-8-5-11-in": ("8½ × 11 in, tall", Decimal("215.90"), Decimal("279.40")),
    "square-10-in": ("10 × 10 in, square", Decimal("254.00"), Decimal("254.00")),
}
PAGE_COUNTS = (10, 14, 16, 18, 22, 24, 32, 40, 48)
_MAKERS = (Role.ART_DIRECTOR, Role.ILLUSTRATOR)
_MAKER_WORDS = {
    Role.ART_DIRECTOR: "Art director: I answer for the publisher",
    Role.ILLUSTRATOR: "Illustrator: I draw it, and invite the art director",
}
# Two plans are for the inside, one for the cover; each can be edited once the book stands.
_INSIDE = ("two-looks", "every-stage")


def _plan_choices(codes: tuple[str, ...]) -> list[tuple[str, Promise]]:
    return [(code, format_lazy("{}. {}", READY_PLAN_NAMES[code], READY_PLAN_WORDS[code])) for code in codes]


class NewBookForm(forms.Form):
    title = forms.CharField(label="Title", max_length=200, help_text="The working title will do.")
    publisher = forms.CharField(label="Publisher", max_length=120, required=False)
    role = forms.ChoiceField(
        label="Your part on this book",
        choices=[(role.value, _MAKER_WORDS[role]) for role in _MAKERS],
        initial=Role.ART_DIRECTOR,
        widget=forms.RadioSelect,
    )

    size = forms.ChoiceField(
        label="Page size",
        choices=[(code, words) for code, (words, _, _) in READY_SIZES.items()] + [(OWN_SIZE, "My own size")],
        initial="square-250",
        help_text="Width × height of one page after trimming.",
    )
    width_mm = forms.DecimalField(
        label="Own width in mm", required=False, min_value=Decimal(60), max_value=Decimal(600), decimal_places=2
    )
    height_mm = forms.DecimalField(
        label="Own height in mm", required=False, min_value=Decimal(60), max_value=Decimal(600), decimal_places=2
    )
    bleed_mm = forms.DecimalField(
        label="Bleed in mm",
        min_value=Decimal(0),
        max_value=Decimal(30),
        decimal_places=2,
        initial=Decimal(3),
        help_text="3 mm is usual; the printer’s specification decides.",
    )
    n_pages = forms.IntegerField(
        label="Pages",
        min_value=BOARD_SMALLEST,
        max_value=LARGEST,
        initial=32,
        help_text="On paper a multiple of 4, 32 is usual. A board book: an even count, 10 to 30 are usual.",
        widget=forms.NumberInput(attrs={"list": "page-counts", "step": 2}),
    )
    binding = forms.ChoiceField(
        label="Binding", choices=[(b.value, words) for b, words in BINDING_WORDS.items()], initial=BindingKind.CASE
    )
    ends = forms.ChoiceField(
        label="Endpapers",
        choices=[(USUAL_ENDS, "Usual for the binding"), *((e.value, words) for e, words in ENDS_WORDS.items())],
        initial=USUAL_ENDS,
        help_text=(
            "Self-ended, usual for a case: the first and last page are pasted to the boards. Separate: extra leaves, "
            "not counted. Other bindings usually have none."
        ),
    )

    inside = forms.ChoiceField(
        label="Stages of the interior", choices=_plan_choices(_INSIDE), initial="every-stage", widget=forms.RadioSelect
    )
    cover = forms.ChoiceField(
        label="Stages of the cover",
        choices=_plan_choices(("cover", *_INSIDE)),
        initial="cover",
        widget=forms.RadioSelect,
    )

    names = forms.ChoiceField(
        label="What the stages are called",
        choices=list(READY_NAME_WORDS.items()),
        initial="picture-book",
        required=False,
        help_text="Each can be named otherwise until it opens; the first stage opens at once.",
    )
    start_on = forms.DateField(
        label="Work starts on", widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    )
    final_on = forms.DateField(
        label="Everything approved by",
        required=False,
        help_text="If you give it, each date is counted back from this day; else each is counted on from the start.",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )
    other_place = PlaceField("Where the illustrator works", help_text="Begin to type a country or a part of one.")
    place = PlaceField(
        "Where the publisher works",
        help_text="Public holidays are kept: until the terms say otherwise, a day counts only if both work on it.",
    )
    zone = ZoneField("Time zone in which a day ends", help_text="Begin to type a city in it.")

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        self.today = today
        # UTC is what nobody has chosen; the browser's own zone is a better guess, and no guess is better than UTC.
        zone = "" if settings.TIME_ZONE == "UTC" else settings.TIME_ZONE
        kwargs["initial"] = {"start_on": today, "zone": zone} | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)
        data = self.data if self.is_bound else None
        self.orders = {
            part: [FirstStages(data, part=part, code=code) for code, _ in choices]
            for part, choices in (("inside", _plan_choices(_INSIDE)), ("cover", _plan_choices(("cover", *_INSIDE))))
        }

    def order_of(self, part: str) -> FirstStages:
        """Give the stages of the plan that is chosen for a part."""
        return next(one for one in self.orders[part] if one.code == self.cleaned_data[part])

    def clean(self) -> dict:
        data = super().clean() or {}
        for part in self.orders:
            if part in data:
                self._clean_order(part)
        if data.get("size") == OWN_SIZE:
            for name in ("width_mm", "height_mm"):
                if data.get(name) is None and name not in self.errors:
                    self.add_error(name, "Give your own size in mm, or choose a ready one.")
        self._clean_pages(data)
        start, final = data.get("start_on"), data.get("final_on")
        if start and final and final <= start:
            self.add_error("final_on", "The last day must come after the first.")
        for name, on in (("start_on", start), ("final_on", final)):
            try:
                check_reach(on, today=self.today)
            except Refused as far_off:
                self.add_error(name, sentence_for(far_off))
        return data

    def _clean_order(self, part: str) -> None:
        """Say beside the plan that is chosen why its stages cannot follow each other so."""
        chosen = self.order_of(part)
        if chosen.wrong:
            self.add_error(part, "A place is a whole number from 1 to 20.")
            return
        try:
            check_plan(chosen.stages)
        except Refused as refused:
            self.add_error(part, sentence_for(refused))

    def _clean_pages(self, data: dict) -> None:
        """Say beside its field why a book of so many pages cannot be bound so."""
        if not {"n_pages", "binding", "ends"} <= set(data):
            return
        binding = BindingKind(data["binding"])
        data["ends"] = usual_ends(binding) if data["ends"] == USUAL_ENDS else EndsKind(data["ends"])
        try:
            page_plan(data["n_pages"], binding, data["ends"])
        except CannotPrint as no:
            self.add_error("ends" if no.code == "ends-not-for-binding" else "n_pages", refusal(no))

    @property
    def wrong(self) -> list[WrongField]:
        return wrong_fields([self])

    @property
    def starts_in_the_past(self) -> bool:
        return self.cleaned_data["start_on"] < self.today

    def as_new_book(self) -> NewBook:
        """Give the checked answers in the form the action takes."""
        data = self.cleaned_data
        width, height = data["width_mm"], data["height_mm"]
        if data["size"] != OWN_SIZE:
            _, width, height = READY_SIZES[data["size"]]
        return NewBook(
            title=data["title"].strip(),
            publisher=data["publisher"].strip(),
            n_pages=data["n_pages"],
            trim_width_mm=width,
            trim_height_mm=height,
            bleed_mm=data["bleed_mm"],
            binding=BindingKind(data["binding"]),
            ends=data["ends"],
            inside=self.order_of("inside").stages,
            cover=self.order_of("cover").stages,
            start_on=data["start_on"],
            final_on=data["final_on"],
            places=tuple(dict.fromkeys(code for code in (data["other_place"], data["place"]) if code)),
            zone=data["zone"],
            role=Role(data["role"]),
            stage_names={kind.value: str(name) for kind, name in READY_NAMES.get(data["names"], {}).items()},
        )
