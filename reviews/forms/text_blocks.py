"""Blocks of text as they are placed: words, type and box of each, or lines of the brief to make one of."""

from __future__ import annotations

from typing import Any

from django import forms

from reviews.pages.wording.text_blocks import ALIGNMENTS, FACES
from reviews.press.page_blocks import NEW_COLOUR, NEW_LEADING_PT, NEW_SIZE_PT
from reviews.press.text_blocks import Face, TextAlign, TextBlock
from reviews.rules.text_blocks import MOST_BLOCKS, MOST_LETTERS, brief_lines

_MOST_MM = 1300  # wider than any spread that is printed: the action asks for this one's own size


def _mm(label: str) -> forms.FloatField:
    widget = forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"})
    return forms.FloatField(label=label, min_value=0, max_value=_MOST_MM, widget=widget)


def _pt(label: str) -> forms.FloatField:
    return forms.FloatField(label=label, min_value=1, max_value=400, widget=forms.NumberInput(attrs={"step": "any"}))


class TextBlockForm(forms.Form):
    """One block. A new one without words and without lines of the brief is none."""

    number = forms.IntegerField(required=False, min_value=0, max_value=32_000, widget=forms.HiddenInput())
    words = forms.CharField(
        label="Words", required=False, strip=False, max_length=MOST_LETTERS, widget=forms.Textarea(attrs={"rows": 3})
    )
    take_first = forms.IntegerField(label="Take lines of the brief, from", required=False, min_value=1, max_value=400)
    take_last = forms.IntegerField(label="to", required=False, min_value=1, max_value=400)
    left_mm = _mm("Left, mm")
    top_mm = _mm("Top, mm")
    width_mm = _mm("Width, mm")
    height_mm = _mm("Height, mm")
    face = forms.ChoiceField(label="Face", choices=[(face.value, words) for face, words in FACES.items()])
    size_pt = _pt("Size, pt")
    leading_pt = _pt("Line to line, pt")
    align = forms.ChoiceField(label="Lines stand", choices=[(one.value, words) for one, words in ALIGNMENTS.items()])
    colour = forms.CharField(label="Colour", max_length=7, widget=forms.TextInput(attrs={"type": "color"}))
    language = forms.CharField(
        label="Language", max_length=35, widget=forms.TextInput(attrs={"spellcheck": "false", "autocomplete": "off"})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})

    @property
    def is_blank(self) -> bool:
        """Say whether nobody filled in a new block."""
        given = self.cleaned_data
        return not given.get("number") and not given.get("words", "").strip() and not given.get("take_first")

    def as_block(self, brief: str) -> TextBlock:
        """Give the block; one without words takes the lines of the brief that it names."""
        given = self.cleaned_data
        words = given["words"].replace("\r\n", "\n")
        if not words.strip() and given.get("take_first"):
            words = brief_lines(brief, given["take_first"], given.get("take_last") or given["take_first"])
        return TextBlock(
            number=given.get("number") or 0,
            words=words,
            language=given["language"].strip(),
            face=Face(given["face"]),
            size_pt=round(given["size_pt"], 2),
            leading_pt=round(given["leading_pt"], 2),
            align=TextAlign(given["align"]),
            colour=given["colour"].lower(),
            **{name: round(given[name], 2) for name in ("left_mm", "top_mm", "width_mm", "height_mm")},
        )


class BaseBlocks(forms.BaseFormSet):
    """The blocks of one spread."""

    def kept(self, brief: str) -> list[TextBlock]:
        """Give the blocks that stay; ask only of what is valid."""
        return [
            form.as_block(brief)
            for form in self.forms
            if not form.cleaned_data.get("DELETE") and not form.is_blank
        ]  # fmt: skip

    def readable(self, brief: str) -> list[tuple[int, TextBlock]]:
        """Give the blocks that can be read now, each with its place in the form, while others are being typed."""
        return [
            (at, form.as_block(brief))
            for at, form in enumerate(self.forms)
            if form.is_valid() and not form.cleaned_data.get("DELETE") and not form.is_blank
        ]


#: A formset of these forms, as ``formset_factory`` makes it of the class above.
TextBlocks: type[BaseBlocks] = forms.formset_factory(  # type: ignore[assignment]
    TextBlockForm, formset=BaseBlocks, extra=1, max_num=MOST_BLOCKS + 10, validate_max=True, can_delete=True
)


class TextSeenForm(forms.Form):
    """The version that whoever places began from."""

    seen = forms.IntegerField(min_value=0, max_value=32_000)


def initial_of(block: TextBlock) -> dict[str, Any]:
    """Give a block's form what stands."""
    names = TextBlockForm.base_fields.keys() - {"take_first", "take_last", "face", "align"}
    return {name: _shown(getattr(block, name)) for name in names} | {
        "face": block.face.value,
        "align": block.align.value,
    }


def _shown(value: Any) -> Any:
    return f"{value:g}" if isinstance(value, float) else value


def new_block(corner_mm: tuple[float, float], size_mm: tuple[float, float]) -> dict[str, Any]:
    """Begin a block with its upper left corner at a place of the trim."""
    return {
        "number": 0,
        "left_mm": f"{round(corner_mm[0], 1):g}",
        "top_mm": f"{round(corner_mm[1], 1):g}",
        "width_mm": f"{round(size_mm[0], 1):g}",
        "height_mm": f"{round(size_mm[1], 1):g}",
        "face": Face.SERIF.value,
        "size_pt": f"{NEW_SIZE_PT:g}",
        "leading_pt": f"{NEW_LEADING_PT:g}",
        "align": TextAlign.LEFT.value,
        "colour": NEW_COLOUR,
        "language": "en",
    }
