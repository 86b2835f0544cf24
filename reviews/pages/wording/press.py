"""The printed object in words: why it cannot be printed, what wants the printer's word, what each line stands for."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.press.file_check import FileFault, FileReport, FoundFault, NotLooked, Weight
from reviews.press.flats import GuideKind, PanelKind
from reviews.press.page_plan import BindingKind, Caution, EndsKind
from reviews.press.proof_check import Criterion, ProofVerdict
from reviews.press.refused import CannotPrint

PRINTER_WINS = gettext_lazy(
    "Starting values only: the printer's own template and specification decide. Check against them before art is made "
    "or paper is bought."
)
PROOF_CAUTION = gettext_lazy(
    "Within or beyond the limits named here, by this measurement only. It certifies nothing; the printer's "
    "specification and the contract proof decide."
)

DELIVERY_NOTE = gettext_lazy(
    "{title}: {n} approved originals, bit for bit as they were approved. manifest.txt holds the SHA-256 of each, as "
    "sha256sum --check reads it.\n\nCheck them against the printer's specification before they are printed.\n"
)
NO_FAULT = gettext_lazy(
    "No fault found in size, proportions, bleed, colour and ink. Nothing else was looked for: fonts, "
    "overprint and plates "
    "were not."
)

BINDINGS: Mapping[BindingKind, Any] = {
    BindingKind.CASE: gettext_lazy("case bound"),
    BindingKind.PAPERBACK: gettext_lazy("paperback"),
    BindingKind.STITCHED: gettext_lazy("saddle-stitched"),
    BindingKind.BOARD: gettext_lazy("board book"),
}
ENDS: Mapping[EndsKind, Any] = {
    EndsKind.SELF: gettext_lazy("self-ended"),
    EndsKind.SEPARATE: gettext_lazy("separate endpapers"),
    EndsKind.NONE: gettext_lazy("no endpapers"),
}
PANELS: Mapping[PanelKind, Any] = {
    PanelKind.PAGE: gettext_lazy("page"),
    PanelKind.BACK: gettext_lazy("back"),
    PanelKind.SPINE: gettext_lazy("spine"),
    PanelKind.FRONT: gettext_lazy("front"),
    PanelKind.HINGE: gettext_lazy("hinge"),
    PanelKind.FLAP: gettext_lazy("flap"),
    PanelKind.TURN_IN: gettext_lazy("turn-in"),
}
GUIDES: Mapping[GuideKind, Any] = {
    GuideKind.TRIM: gettext_lazy("Trim"),
    GuideKind.BLEED: gettext_lazy("Bleed"),
    GuideKind.SAFETY: gettext_lazy("Safety"),
    GuideKind.FOLD: gettext_lazy("Folds"),
    GuideKind.GUTTER: gettext_lazy("Gutter"),
    GuideKind.TURN_IN: gettext_lazy("Turn-in"),
}
CRITERIA: Mapping[Criterion, Any] = {
    Criterion.PAPER: gettext_lazy("Paper, ΔE00"),
    Criterion.SOLIDS: gettext_lazy("Solids of C, M, Y and K, largest ΔE00"),
    Criterion.SOLIDS_HUE: gettext_lazy("Hue of the C, M and Y solids, largest ΔH*ab"),
    Criterion.MEAN: gettext_lazy("All patches, mean ΔE00"),
    Criterion.PERCENTILE_95: gettext_lazy("All patches, 95th percentile of ΔE00"),
    Criterion.MOST: gettext_lazy("All patches, largest ΔE00"),
    Criterion.GREY_MEAN: gettext_lazy("Greys of C, M and Y, mean ΔCh"),
    Criterion.GREY_MOST: gettext_lazy("Greys of C, M and Y, largest ΔCh"),
}
VERDICTS: Mapping[ProofVerdict, Any] = {
    ProofVerdict.PASS: gettext_lazy("within"),
    ProofVerdict.FAIL: gettext_lazy("beyond"),
    ProofVerdict.NOT_MEASURED: gettext_lazy("not measured"),
}
_MEASURES: Mapping[str, Any] = {
    "trim-width": gettext_lazy("the width of the trim"),
    "trim-height": gettext_lazy("the height of the trim"),
    "height": gettext_lazy("the height"),
    "board-width": gettext_lazy("the width of the board"),
    "block": gettext_lazy("the thickness of the block"),
    "pages-per-inch": gettext_lazy("pages per inch"),
    "caliper": gettext_lazy("the thickness of a leaf"),
    "weight": gettext_lazy("the weight of the paper"),
    "bulk": gettext_lazy("the bulk of the paper"),
    "bleed": gettext_lazy("the bleed"),
    "safety": gettext_lazy("the safety"),
    "gutter": gettext_lazy("the gutter band"),
    "turn-in": gettext_lazy("the turn-in"),
    "spine": gettext_lazy("the spine"),
    "flap": gettext_lazy("the flap"),
}

WEIGHTS: Mapping[Weight, Any] = {
    Weight.STOPPER: gettext_lazy("Stopper"),
    Weight.CAUTION: gettext_lazy("Caution"),
    Weight.REMARK: gettext_lazy("Remark"),
}
#: Where a limit or a rule comes from, by the code that stands beside it.
SOURCES: Mapping[str, Any] = {
    "printninja-guides": gettext_lazy("PrintNinja"),
    "own": gettext_lazy("your printer’s own figure"),
    "bleed-metric": gettext_lazy("3 mm, as printers’ guides that count in mm ask"),
    "bleed-inch": gettext_lazy("an eighth of an inch, as printers’ guides that count in inches ask"),
    "safety-metric": gettext_lazy("5 mm, as a printer’s guide asks"),
    "safety-inch": gettext_lazy("a quarter of an inch; common practice, an eighth is the least that guides name"),
    "gutter-guide": gettext_lazy("half an inch on each side, from an illustrator’s layout guide; others ask an inch"),
    "loss-glued": gettext_lazy(
        "a glued book: printers have the halves pulled an eighth of an inch apart, half of it on each page"
    ),
    "loss-sewn": gettext_lazy("a sewn, stitched or board book loses little; the printer knows how much"),
    "not-told": gettext_lazy("nobody told it: ask the printer"),
    "dingword-case": gettext_lazy("dingword"),
    "square-back-rule": gettext_lazy("square back rule of the Chinese trade, middle values"),
    "wakefields-guide": gettext_lazy("Wakefields"),
    "foilers": gettext_lazy("a die maker's line and gap; a printer's distance to folds; a foiler's register"),
    "varnish-guides": gettext_lazy("printers' guides: a point of line, a point and a half of gap"),
    "packaging-guide": gettext_lazy("a packaging guide; its safer line is 0.40"),
    "iso-coated": gettext_lazy("ISO figure for coated sheet-fed; 300 in most practice"),
    "profile-notes": gettext_lazy("profile notes of its characterisation data, as quoted in a public note"),
    "build-notes": gettext_lazy("profile-build notes of a third party"),
    "printers-uncoated": gettext_lazy("printers' figures of 260 to 280; a profile of 300 exists"),
    "swop": gettext_lazy("SWOP specification, as printers discuss it"),
    "preflight-2022": gettext_lazy("public pre-flight settings of 2022"),
    "on-demand-help": gettext_lazy("help pages of large print-on-demand houses"),
    "wcag-text": gettext_lazy("WCAG 2.2, 1.4.3, written for screens: a starting value for print"),
    "twice-the-ruling": gettext_lazy("twice the screen ruling; pre-flight settings warn below 224"),
    "screen-at-print-size": gettext_lazy("a plain screen shows as many; common practice"),
    "design-primers": gettext_lazy("design primers ask 900 to 1200 and name 600 as the lowest"),
    "printers-mixed": gettext_lazy("printers name 500 to 900"),
    "iso-12647-7-2016": gettext_lazy("ISO 12647-7:2016, restated in public sources"),
    "iso-12647-8-2021": gettext_lazy("ISO 12647-8:2021, restated in public notes"),
}
FAULTS: Mapping[FileFault, Any] = {
    FileFault.TOO_FEW_PIXELS: gettext_lazy(
        "{ppi} ppi at print size; below {least:g} ppi it will look soft ({source}). Scan or export it larger."
    ),
    FileFault.FEW_PIXELS: gettext_lazy(
        "{ppi} ppi at print size; {warn:g} ppi or more is asked ({source}). Scan or export it larger where you can."
    ),
    FileFault.WRONG_PROPORTIONS: gettext_lazy(
        "The proportions are {per_cent:g} % off: the piece is {width_mm:g} × {height_mm:g} mm with its "
        "bleed. Extend or "
        "crop the art to that; do not stretch it."
    ),
    FileFault.NO_BLEED: gettext_lazy(
        "The file ends at the trim. Draw on for {bleed_mm:g} mm on every side, to {width_mm:g} × {height_mm:g} mm."
    ),
    FileFault.NO_PROFILE: gettext_lazy(
        "The file carries no colour profile ({mode}), so nobody can know which colours are meant. Save "
        "it with its profile."
    ),
    FileFault.RGB: gettext_lazy("The file is RGB. Ask the printer who converts it, and to which printing condition."),
    FileFault.SIXTEEN_BITS: gettext_lazy(
        "{bits} bits a channel. Ask the printer whether that is taken; 8 is usual for print."
    ),
    FileFault.SEE_THROUGH: gettext_lazy(
        "The file has see-through parts. Flatten it onto white, so that it prints as you see it."
    ),
    FileFault.TOO_MUCH_INK: gettext_lazy(
        "{per_cent:g} % of the picture has more than {limit:g} % ink, up to {highest} % ({source}). "
        "Lighten the darkest "
        "parts, or convert with a profile of that limit."
    ),
    FileFault.FRONT_ALONE: gettext_lazy(
        "This is the front alone. The cover is printed in one piece with back and spine, "
        "{width_mm:g} × {height_mm:g} mm: draw the whole of it, on the template."
    ),
    FileFault.SPINE_MOVED: gettext_lazy(
        "The picture is drawn for a spine of {drawn_mm:g} mm; by page count and paper it is {spine_mm:g} mm now. "
        "Draw it on the new template, or ask production whether the paper stays."
    ),
    FileFault.THIN_FOUR_INK_BLACK: gettext_lazy(
        "Black line thinner than {thin_mm:g} mm is built from several inks, which may not meet exactly. "
        "Make fine line and "
        "type black only."
    ),
}
NOT_LOOKED: Mapping[NotLooked, Any] = {
    NotLooked.INK_OF_RGB: gettext_lazy(
        "Ink was not measured: the file has no inks of its own, and what they become is the printer’s conversion."
    ),
    NotLooked.INK_OF_PLATE: gettext_lazy("Ink was not measured on this file."),
    NotLooked.INK_NOT_YET: gettext_lazy("Ink has not been measured on this file at this size yet."),
    NotLooked.INK_NOT_READ: gettext_lazy("Ink could not be measured: the file could not be read for it."),
    NotLooked.PDF_PIXELS: gettext_lazy(
        "Of a PDF only the shape and the number of pages were looked at: its pixels, colours and inks were not."
    ),
    NotLooked.COVER_SIZE: gettext_lazy(
        "Size, proportions and bleed were not looked at: the cover’s size needs the paper, which nobody has told."
    ),
    NotLooked.PLATE_UNTOLD: gettext_lazy("Nobody has told what this plate is for, so nothing was measured on it."),
    NotLooked.SPOT_UNTOLD: gettext_lazy(
        "The file holds a spot plate, and nobody has told what it is for, so nothing was measured on it."
    ),
    NotLooked.PLATE_NOT_YET: gettext_lazy("The plate has not been measured on this art yet."),
    NotLooked.PLATE_NOT_READ: gettext_lazy(
        "The plate could not be measured: one of the two files could not be read for it."
    ),
    NotLooked.PLATE_NOT_LAID: gettext_lazy(
        "The plate is not measured: it is a PDF, a file is not read yet, or the size of the piece is not known."
    ),
    NotLooked.PLATE_REGISTER: gettext_lazy(
        "Register was not measured: the art draws too little of what is on the plate. Hold both against each other by "
        "eye."
    ),
}


def looked_at(report: FileReport, told: Collection[FileFault]) -> str:
    """Say what was looked at in a file, and no more than that: what would have been told of it (``told``)."""
    missed = set(report.not_looked)
    parts = [str(words) for code, words in _LOOKED.items() if code in told and not missed & _UNTOLD_BY.get(code, set())]
    if not parts:
        return _("Nothing was looked at in this file for print.")
    return _("Looked at: {parts}. Nothing else.").format(parts=", ".join(parts))


def unlooked(missed: Collection[NotLooked], *, is_approved: bool) -> str:
    """Say what was not looked at in a file that goes to press."""
    if not is_approved:
        return _("No picture is approved here, so nothing was looked at for print.")
    if not missed:
        return _("Nothing was looked at in this file for print.")
    return " ".join(str(NOT_LOOKED[code]) for code in missed)


#: What is looked at for each fault, in the order in which it is told.
_LOOKED: Mapping[FileFault, Any] = {
    FileFault.TOO_FEW_PIXELS: gettext_lazy("pixels at print size"),
    FileFault.WRONG_PROPORTIONS: gettext_lazy("proportions"),
    FileFault.NO_BLEED: gettext_lazy("bleed"),
    FileFault.RGB: gettext_lazy("colour space"),
    FileFault.NO_PROFILE: gettext_lazy("profile"),
    FileFault.SIXTEEN_BITS: gettext_lazy("bits"),
    FileFault.TOO_MUCH_INK: gettext_lazy("ink in total"),
    FileFault.THIN_FOUR_INK_BLACK: gettext_lazy("black from four inks"),
}
_NO_SIZE = {NotLooked.COVER_SIZE}
_NO_INK = {
    NotLooked.INK_OF_RGB,
    NotLooked.INK_OF_PLATE,
    NotLooked.INK_NOT_YET,
    NotLooked.INK_NOT_READ,
    NotLooked.PDF_PIXELS,
}
_UNTOLD_BY: Mapping[FileFault, set[NotLooked]] = {
    FileFault.TOO_FEW_PIXELS: _NO_SIZE,
    FileFault.WRONG_PROPORTIONS: _NO_SIZE,
    FileFault.NO_BLEED: _NO_SIZE,
    FileFault.TOO_MUCH_INK: _NO_INK,
    FileFault.THIN_FOUR_INK_BLACK: _NO_INK,
}


def fault(found: FoundFault) -> str:
    """Say what is wrong with a file, and what to do."""
    values = dict(found.values)
    if "source" in values:
        values["source"] = source(values["source"])
    return str(FAULTS[found.code]).format(**values)


def source(code: str) -> str:
    """Say where a limit comes from; a house's own limit is named by the house's own words."""
    return str(SOURCES.get(code, code))


REFUSED: Mapping[str, Any] = {
    "bad-pattern": gettext_lazy(
        "The pattern “{pattern}” names something else than book, pages, stage, version and name, each in braces. "
        "Write it like {{book}}_{{pages}}_{{stage}}."
    ),
    "pattern-tells-nothing-apart": gettext_lazy(
        "By the pattern “{pattern}” several files would have one name. Put {{pages}} or {{name}} into it."
    ),
    "gutter-too-wide": gettext_lazy(
        "A gutter band of {value} mm is as wide as the page ({width} mm). Give a narrower one."
    ),
    "spine-too-wide": gettext_lazy(
        "By page count and paper the spine is {value} mm; at most {most:g} mm is taken. Check the figure of the paper "
        "and its unit."
    ),
    "not-above-nought": gettext_lazy("{measure} is {value}. Give a measure above nought."),
    "below-nought": gettext_lazy("{measure} is {value}. Give nought or more."),
    "no-pages": gettext_lazy("{n} pages make no book. Give a page count above nought."),
    "no-such-panel": gettext_lazy("This piece has no {panel}. Choose another piece."),
    "flap-too-narrow": gettext_lazy("A flap of {value} mm does not hold the jacket. Give at least {least} mm."),
    "flap-too-wide": gettext_lazy("A flap of {value} mm is wider than the cover. Give at most {most} mm."),
    "ends-not-for-binding": gettext_lazy(
        "A book of this binding ({binding}) has no such ends ({ends}). Choose other ends."
    ),
    "odd-boards": gettext_lazy("{n} pages cannot be glued from boards: each has two sides. Give an even page count."),
    "boards-out-of-range": gettext_lazy(
        "A board book has between {smallest} and {largest} pages; {n} lies outside. Give a count in that range."
    ),
    "pages-out-of-range": gettext_lazy(
        "A picture book has between {smallest} and {largest} pages; {n} lies outside. Give a count in that range."
    ),
    "cannot-be-folded": gettext_lazy(
        "{n} pages cannot be folded from sheets: a section has a multiple of 4. Choose {below} or {above}."
    ),
    "too-few-for-self-ends": gettext_lazy(
        "A self-ended book gives six pages to its ends, so {n} are too few. Choose 16 or more, or separate endpapers."
    ),
    "no-columns": gettext_lazy(
        "This is no table of measured colour: it names no columns (BEGIN_DATA_FORMAT). Export the measurement as "
        "CGATS text."
    ),
    "missing-columns": gettext_lazy("The table lacks {columns}. Export the measurement with CIELAB and CMYK values."),
    "no-patches": gettext_lazy("The table holds no patch (BEGIN_DATA … END_DATA). Export the measurement again."),
    "too-many-patches": gettext_lazy("The table holds {n} patches; at most {most} are judged."),
    "bad-row": gettext_lazy(
        "Line {line} does not hold the values that the columns name. Export the measurement again."
    ),
    "inks-out-of-range": gettext_lazy(
        "Line {line} names inks outside 0 to 100 per cent. Export the measurement again."
    ),
    "no-patch-in-common": gettext_lazy(
        "None of the {n} patches is in the reference. Choose the reference that the proof was made for."
    ),
    "split-no-opening": gettext_lazy("Only a double-page spread can be split into single pages."),
    "join-no-singles": gettext_lazy("Only two single pages can be joined into a double-page spread."),
    "join-apart": gettext_lazy("These two pages do not follow each other."),
    "join-right-hand": gettext_lazy(
        "Page {page} is a right-hand page: a double-page spread starts on a left-hand page."
    ),
    "join-last-page": gettext_lazy("The last page is alone; it faces the end of the book."),
    "piece-outside": gettext_lazy("{label} lies outside the book's {n_pages} pages."),
    "piece-not-facing": gettext_lazy(
        "{label}: a double-page spread is a left-hand page with the right-hand page after it."
    ),
    "page-twice": gettext_lazy("Page {page} is covered twice."),
}


def refusal(no: CannotPrint) -> str:
    """Say why something cannot be printed or read, and what to do."""
    values = dict(no.values)
    if "what" in values:
        what = values["what"]
        values["measure"] = _capital(str(_MEASURES.get(what) or PANELS.get(what) or what))
    for name, words in (("binding", BINDINGS), ("ends", ENDS)):
        if name in values:
            values[name] = words[values[name]]
    if "kind" in values:
        values["panel"] = PANELS[values["kind"]]
    if "columns" in values:
        values["columns"] = ", ".join(values["columns"])
    return str(REFUSED[no.code]).format(**values)


def caution(code: Caution, n_pages: int) -> str:
    """Say what is possible and still wants the printer's word."""
    if code == Caution.SHORT_SECTION:
        words = ngettext(
            "%(n)d page is a multiple of 4 and not of 8: one section has four pages only. Ask the printer.",
            "%(n)d pages are a multiple of 4 and not of 8: one section has four pages only. Ask the printer.",
            n_pages,
        )
    elif code == Caution.THICK_STITCH:
        words = _("%(n)d pages are many for a stitched book: it may gape and its inner pages creep. Ask the printer.")
    elif code == Caution.MANY_BOARDS:
        words = _("%(n)d pages are many for a board book; 30 are usual at most. Ask the printer.")
    else:
        words = _("%(n)d pages make a very thin square spine. Ask the printer whether it can be glued, or stitch it.")
    return words % {"n": n_pages}


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
