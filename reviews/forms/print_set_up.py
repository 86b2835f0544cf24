"""How a book is printed, asked in millimetres or inches."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import forms

from reviews.actions.print_set_up import PrintChange
from reviews.forms.wrong import WrongField, wrong_fields
from reviews.geometry import MM_PER_INCH
from reviews.pages.wording import press
from reviews.pages.wording.names import BINDING_WORDS, ENDS_WORDS
from reviews.pages.wording.print_set_up import (
    CONDITION_WORDS,
    FIGURE_WORDS,
    PAPER_WORDS,
    UNIT_WORDS,
    length_figure,
    length_words,
    rule_words,
)
from reviews.press.covers import CASE_RULES, JACKET_RULES
from reviews.press.limits import INK_CONDITIONS
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.set_up import MAY_BE_LESS, MOST_MM, BookPrint, PaperBy, PaperTold, PrinterFigures, PrintFigure, Unit

LEAST_TRIM_MM, MOST_TRIM_MM = 60, 600
_NOT_TOLD = ""


def _length(label: str, unit: Unit, *, least_mm: float, most_mm: float, required: bool, **more: Any) -> forms.Field:
    scale = MM_PER_INCH if unit == Unit.INCH else 1.0
    field = forms.DecimalField(
        label=f"{label}, {unit.value}",
        required=required,
        min_value=Decimal(str(round(least_mm / scale, 3))),
        max_value=Decimal(str(round(most_mm / scale, 3))),
        max_digits=9,
        decimal_places=4,
        **more,
    )
    field.widget.attrs["step"] = "any"
    return field


class PrintForm(forms.Form):
    """``stands`` is the printing as it is; ``unit`` that in which lengths are shown and typed.

    ``moves_trim`` says whether who fills it may move the trim. What is left as it was shown keeps its exact measure;
    a figure left empty is its starting value.
    """

    typed_in = forms.ChoiceField(choices=[(unit.value, words) for unit, words in UNIT_WORDS.items()])
    seen = forms.CharField(required=False)

    def __init__(self, *values: Any, stands: BookPrint, unit: Unit, seen: str, moves_trim: bool, **named: Any) -> None:
        self.stands, self.unit, self.moves_trim = stands, unit, moves_trim
        named["initial"] = self._initial(seen)
        super().__init__(*values, **named)
        for name in ("typed_in", "seen"):
            self.fields[name].widget = forms.HiddenInput()
        self._add_book(unit)
        self._add_paper()
        self._add_printer()
        self.figure_names = [f"figure_{which.value}" for which in stands.asked]
        for which in stands.asked:
            self._add_figure(which, unit)

    def _initial(self, seen: str) -> dict[str, Any]:
        stands, figures, told = self.stands, self.stands.figures, self.stands.paper
        return {
            "typed_in": self.unit.value,
            "seen": seen,
            "trim_width": length_figure(stands.trim.width_mm, self.unit),
            "trim_height": length_figure(stands.trim.height_mm, self.unit),
            "binding": stands.binding.value,
            "ends": stands.ends.value,
            "paper_by": told.by.value if told else _NOT_TOLD,
            "paper_value": f"{told.value:g}" if told else "",
            "paper_bulk": f"{told.bulk:g}" if told and told.by == PaperBy.WEIGHT else "",
            "paper_name": told.name if told else "",
            "printer": stands.printer,
            "case_rules": figures.case_rules,
            "jacket_rules": figures.jacket_rules,
            "has_jacket": stands.has_jacket,
            "condition": figures.condition,
            "ink_limit": f"{figures.ink_limit:g}" if figures.ink_limit else "",
            "text_contrast": f"{figures.text_contrast:g}" if figures.text_contrast else "",
        } | {f"figure_{which.value}": length_figure(mm, self.unit) for which, mm in figures.own.items()}

    def _add_book(self, unit: Unit) -> None:
        for name, label in (("trim_width", "Trim, width"), ("trim_height", "Trim, height")):
            field = _length(label, unit, least_mm=LEAST_TRIM_MM, most_mm=MOST_TRIM_MM, required=True)
            if not self.moves_trim:
                field.widget.attrs["readonly"] = True
            self.fields[name] = field
        if self.moves_trim:
            self.fields["trim_reason"] = forms.CharField(
                label="Why the trim moves, if it does", required=False, max_length=300, help_text="Both sides read it."
            )
        self.fields["binding"] = forms.ChoiceField(
            label="Binding", choices=[(binding.value, words) for binding, words in BINDING_WORDS.items()]
        )
        self.fields["ends"] = forms.ChoiceField(
            label="Endpapers", choices=[(ends.value, words) for ends, words in ENDS_WORDS.items()]
        )
        self.fields["has_jacket"] = forms.BooleanField(label="With a jacket (case bound only)", required=False)

    def _add_paper(self) -> None:
        self.fields["paper_by"] = forms.ChoiceField(
            label="Paper, told as",
            required=False,
            choices=[(_NOT_TOLD, "Not told yet"), *((by.value, words) for by, words in PAPER_WORDS.items())],
            help_text="From the printer or the mill. Without it no spine is known.",
        )
        self.fields["paper_value"] = forms.FloatField(label="Its figure", required=False, min_value=0, max_value=5000)
        self.fields["paper_bulk"] = forms.FloatField(
            label="Its bulk, cm³/g",
            required=False,
            min_value=0,
            max_value=5,
            help_text="With a weight only; 1 if empty.",
        )
        self.fields["paper_name"] = forms.CharField(label="Name of the paper", required=False, max_length=80)

    def _add_printer(self) -> None:
        self.fields["printer"] = forms.CharField(label="Printer", required=False, max_length=80)
        for name, label, rules in (
            ("case_rules", "A case starts from the rules of", CASE_RULES),
            ("jacket_rules", "A jacket starts from the rules of", JACKET_RULES),
        ):
            choices = [(code, rule_words(code)) for code in rules]
            self.fields[name] = forms.ChoiceField(label=label, choices=choices)
        self.fields["condition"] = forms.ChoiceField(
            label="Printing condition",
            choices=[(code, f"{CONDITION_WORDS[code]}: {ink.limit:g} % ink") for code, ink in INK_CONDITIONS.items()],
        )
        self.fields["ink_limit"] = forms.FloatField(
            label="The printer’s own ink limit, %",
            required=False,
            min_value=100,
            max_value=400,
            help_text="Of 400 for all four inks together. Empty: that of the condition.",
        )
        self.fields["text_contrast"] = forms.FloatField(
            label="Least contrast of text over art, : 1",
            required=False,
            min_value=1,
            max_value=21,
            help_text="Empty: 4.5, and 3 for large type (WCAG 2.2, 1.4.3; written for screens).",
        )
        self.fields["keep_as"] = forms.CharField(
            label="Keep this printer’s figures under the name",
            required=False,
            max_length=80,
            help_text="They can then be taken for another book. Trim, binding and paper stay with this one.",
        )

    def _add_figure(self, which: PrintFigure, unit: Unit) -> None:
        start = self.stands.starting(which)
        least = -20.0 if which in MAY_BE_LESS else 0.0
        self.fields[f"figure_{which.value}"] = _length(
            str(FIGURE_WORDS[which]),
            unit,
            least_mm=least,
            most_mm=min(MOST_MM, 30.0) if which == PrintFigure.BLEED else MOST_MM,
            required=False,
            help_text=f"Starts at {length_words(start.mm, unit)}: {press.source(start.source)}.",
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("paper_by") and not data.get("paper_value") and "paper_value" not in self.errors:
            self.add_error("paper_value", "Give the figure, above nought, or choose “Not told yet”.")
        return data

    @property
    def wrong(self) -> list[WrongField]:
        return wrong_fields([self])

    @property
    def figure_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.figure_names]

    def as_change(self) -> PrintChange:
        """Give the checked answers in the form the action takes."""
        data, stands = self.cleaned_data, self.stands
        own = {which: mm for which, mm in stands.figures.own.items() if which not in stands.asked}
        for which in stands.asked:
            if data[f"figure_{which.value}"] is not None:
                own[which] = self._mm(f"figure_{which.value}", stands.mm(which))
        bleed = own.get(PrintFigure.BLEED, stands.starting(PrintFigure.BLEED).mm)
        return PrintChange(
            trim_width_mm=_stored(self._mm("trim_width", stands.trim.width_mm)),
            trim_height_mm=_stored(self._mm("trim_height", stands.trim.height_mm)),
            bleed_mm=_stored(bleed),
            binding=BindingKind(data["binding"]),
            ends=EndsKind(data["ends"]),
            figures=PrinterFigures(
                unit=self.unit,
                case_rules=data["case_rules"],
                jacket_rules=data["jacket_rules"],
                condition=data["condition"],
                ink_limit=data["ink_limit"],
                text_contrast=data["text_contrast"],
                own=own,
            ),
            paper=self._paper(),
            has_jacket=data["has_jacket"],
            printer=data["printer"],
            keep_as=data["keep_as"],
            seen=data["seen"] or None,
            trim_reason=data.get("trim_reason", ""),
        )

    def _mm(self, name: str, stands_mm: float) -> float:
        """Turn what was typed into mm; what was left as it was shown stays exactly what it was."""
        typed = float(self.cleaned_data[name])
        if f"{typed:g}" == f"{float(length_figure(stands_mm, self.unit)):g}":
            return stands_mm
        return typed * MM_PER_INCH if self.unit == Unit.INCH else typed

    def _paper(self) -> PaperTold | None:
        data = self.cleaned_data
        if not data["paper_by"]:
            return None
        by = PaperBy(data["paper_by"])
        bulk = data["paper_bulk"] if by == PaperBy.WEIGHT and data["paper_bulk"] else 1.0
        return PaperTold(by, data["paper_value"], bulk, data["paper_name"].strip())


def _stored(mm: float) -> Decimal:
    return Decimal(str(round(mm, 4))).quantize(Decimal("0.01"), ROUND_HALF_UP)
