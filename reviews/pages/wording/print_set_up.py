"""A book's print set-up in words: its figures, their units, where each comes from, and what a change of them tells."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.geometry import MM_PER_INCH
from reviews.pages.wording import press
from reviews.pages.wording.names import BINDING_WORDS, ENDS_WORDS
from reviews.press.covers import CASE_RULES, JACKET_RULES
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.proof_check import ProofVerdict
from reviews.press.set_up import PaperBy, PieceName, PrintFigure, Unit
from reviews.rules.entries import Entry

FIGURE_WORDS: Mapping[PrintFigure, Promise] = {
    PrintFigure.BLEED: gettext_lazy("Bleed of the inside"),
    PrintFigure.SAFETY: gettext_lazy("Safety inside the trim"),
    PrintFigure.GUTTER: gettext_lazy("Gutter band, each side of the fold"),
    PrintFigure.GUTTER_LOSS: gettext_lazy("Lost in the fold, on each page"),
    PrintFigure.COVER_BLEED: gettext_lazy("Bleed of the cover"),
    PrintFigure.COVER_SAFETY: gettext_lazy("Safety on the cover"),
    PrintFigure.COVER_PAPER: gettext_lazy("Thickness of the cover’s own paper"),
    PrintFigure.BOARD: gettext_lazy("Thickness of a board"),
    PrintFigure.BOARD_TALLER: gettext_lazy("Board taller than the page by"),
    PrintFigure.BOARD_NARROWER: gettext_lazy("Board narrower than the page by"),
    PrintFigure.HINGE: gettext_lazy("Hinge, each"),
    PrintFigure.TURN_IN: gettext_lazy("Turn-in, each edge"),
    PrintFigure.SPINE_MORE: gettext_lazy("Spine board wider than block and boards by"),
    PrintFigure.JACKET_BLEED: gettext_lazy("Bleed of the jacket"),
    PrintFigure.JACKET_SAFETY: gettext_lazy("Safety on the jacket"),
    PrintFigure.JACKET_TALLER: gettext_lazy("Jacket taller than the page by"),
    PrintFigure.JACKET_WIDER: gettext_lazy("Jacket panel wider than the page by"),
    PrintFigure.JACKET_SPINE_MORE: gettext_lazy("Jacket spine wider than the case’s by"),
    PrintFigure.FLAP: gettext_lazy("Flap"),
    PrintFigure.FOIL_LINE: gettext_lazy("Foil, thinnest line"),
    PrintFigure.FOIL_GAP: gettext_lazy("Foil, smallest gap"),
    PrintFigure.VARNISH_LINE: gettext_lazy("Spot varnish, thinnest line"),
    PrintFigure.VARNISH_GAP: gettext_lazy("Spot varnish, smallest gap"),
    PrintFigure.EMBOSS_LINE: gettext_lazy("Emboss, thinnest line"),
    PrintFigure.EMBOSS_GAP: gettext_lazy("Emboss, smallest gap"),
}
PIECE_WORDS: Mapping[PieceName, Promise] = {
    PieceName.SPREAD: gettext_lazy("Double-page spread"),
    PieceName.PAGE: gettext_lazy("Single page"),
    PieceName.COVER: gettext_lazy("Cover, in one piece"),
    PieceName.JACKET: gettext_lazy("Jacket"),
}
PAPER_WORDS: Mapping[PaperBy, Promise] = {
    PaperBy.CALIPER: gettext_lazy("thickness of a leaf, in mm"),
    PaperBy.PAGES_PER_INCH: gettext_lazy("pages per inch (two to a leaf)"),
    PaperBy.WEIGHT: gettext_lazy("weight in g/m², with its bulk in cm³/g"),
}
UNIT_WORDS: Mapping[Unit, Promise] = {Unit.MM: gettext_lazy("Millimetres"), Unit.INCH: gettext_lazy("Inches")}
CONDITION_WORDS: Mapping[str, Promise] = {
    "coated-fogra39": gettext_lazy("Coated paper, FOGRA39"),
    "coated-fogra51": gettext_lazy("Coated paper, FOGRA51"),
    "uncoated-fogra52": gettext_lazy("Uncoated paper, FOGRA52"),
    "uncoated-fogra47": gettext_lazy("Uncoated paper, FOGRA47"),
    "swop-web": gettext_lazy("Web offset, SWOP"),
    "newsprint": gettext_lazy("Newsprint"),
    "on-demand": gettext_lazy("Print on demand"),
}
PRINT_REFUSALS: Mapping[str, Promise] = {
    "print-changed": gettext_lazy(
        "Somebody else changed how this book is printed while you did. Nothing of yours is kept: look at what is "
        "there now, then change it again."
    ),
    "trim-after-approval": gettext_lazy(
        "{where} was approved at this trim, so the trim cannot move under it. Ask for a change to what was "
        "approved first, or set up the book anew."
    ),
    "trim-not-productions": gettext_lazy(
        "Production does not move the trim: the art is composed for it. The art director does, with a reason."
    ),
    "binding-changes-pages": gettext_lazy(
        "With that binding other pieces of art would be needed than those of this book. Choose another binding, or set "
        "up the book anew."
    ),
    "figure-out-of-range": gettext_lazy(
        "{figure}: {value} mm lies outside what is taken. Give a measure up to {most} mm."
    ),
    "too-many-printers": gettext_lazy("{most} printers are kept on this book already. Take one of their names."),
    "nothing-to-deliver": gettext_lazy(
        "No final art of this book is approved, so there is nothing to deliver. Only what is approved goes into it."
    ),
    "original-missing": gettext_lazy(
        "The stored file of {where}, {file}, is not there, so the folder would be incomplete. Ask whoever runs this "
        "portal; nothing was sent."
    ),
    "delivery-pattern": gettext_lazy("A pattern has at most 120 characters. Write a shorter one."),
    "stopper-open": gettext_lazy(
        "{where}: a stopper is open in the final art ({file}), {n} in all: it would show in print. Ask for a new proof "
        "of corrected art, or take each on by name with a reason, on the proof’s table; then answer again."
    ),
    "art-in-work": gettext_lazy(
        "{where}: {art} is being changed again, so its art is not approved now and this proof shows what is not to be "
        "printed. Answer it once the art is approved anew, or ask for a new proof."
    ),
    "printed-in-work": gettext_lazy(
        "{where}: {art} is being changed again, so these sheets show what is not approved now. Answer them once it is "
        "approved anew, or ask for new F&Gs."
    ),
    "no-such-stopper": gettext_lazy("This is no open stopper of the final art now. Look at the proof’s table again."),
    "stopper-changed": gettext_lazy(
        "The figures of this stopper changed while you read. Look at the proof’s table again, then take it on as it is "
        "now."
    ),
    "taken-fault-reason": gettext_lazy("Say why it is printed as it is. Both sides read it."),
    "too-many-proofs": gettext_lazy("{most} measured proofs are kept on this book already; no more are taken."),
    "too-many-sets": gettext_lazy("{most} sets of aims are kept on this book already. Choose one of them."),
    "no-reference-set": gettext_lazy("Choose the aims the proof was made for, or load their file."),
    "no-plain-text": gettext_lazy(
        "{name} is no plain text: it has zero bytes in it. Export the measurement as CGATS text in plain letters."
    ),
    "aims-changed": gettext_lazy(
        "The kept aims “{name}” are not the file that was loaded any more: their SHA-256 differs. Load the file again, "
        "and tell whoever runs this portal."
    ),
    "no-such-piece": gettext_lazy(
        "The size of this piece is not known yet. Tell the thickness of the paper on the print page first."
    ),
}


def length_words(mm: float, unit: Unit) -> str:
    """Write a length with its unit, to the hundredth of a millimetre or the thousandth of an inch."""
    return f"{length_figure(mm, unit)} {unit.value}"


def length_figure(mm: float, unit: Unit) -> str:
    """Write a length without its unit and without noughts at its end."""
    value = mm / MM_PER_INCH if unit == Unit.INCH else mm
    # Adding nought turns a minus nought into nought.
    return f"{round(value, 3 if unit == Unit.INCH else 2) + 0:.{3 if unit == Unit.INCH else 2}f}".rstrip("0").rstrip(
        "."
    )


def size_in(width_mm: float, height_mm: float, unit: Unit) -> str:
    """Write width by height."""
    return f"{length_figure(width_mm, unit)} × {length_words(height_mm, unit)}"


def paper_words(told: Mapping[str, Any] | None) -> str:
    """Write a paper as it was told."""
    if not told:
        return _("not told")
    by, value = PaperBy(told["by"]), told["value"]
    if by == PaperBy.CALIPER:
        measure = _("a leaf of {value:g} mm").format(value=value)
    elif by == PaperBy.PAGES_PER_INCH:
        measure = _("{value:g} pages per inch").format(value=value)
    else:
        measure = _("{value:g} g/m², bulk {bulk:g}").format(value=value, bulk=told["bulk"])
    return f"{told['name']}, {measure}" if told.get("name") else measure


def set_print_sentence(entry: Entry) -> str:
    """Tell which figures of the printing were changed, each from what to what."""
    data = entry.data
    told = list(_changes(data["before"], data["now"]))
    sentences = []
    if told:
        sentences.append(_("{by} set how the book is printed: {changes}.").format(by=entry.by, changes="; ".join(told)))
    if reason := data.get("trim_reason"):
        sentences.append(_("Why the trim moved: {reason}").format(reason=reason))
    if data["kept_as"]:
        sentences.append(_("{by} kept the printer’s figures as “{name}”.").format(by=entry.by, name=data["kept_as"]))
    return " ".join(sentences)


def judge_proof_sentence(entry: Entry) -> str:
    """Tell a measured proof: against which aims, by which limits, and the verdict, never more than was measured."""
    data = entry.data
    told = _("{by} had the measurement {file} judged against {reference} ({limits}): {verdict}.").format(
        by=entry.by,
        file=data["file_name"],
        reference=data["reference"],
        limits=press.source(data["limits"]),
        verdict=verdict_words(data["verdict"], data["lines"]),
    )
    return f"{data['where']}: {told}" if data.get("where") else told


def line_verdict(line: Mapping[str, Any]) -> str:
    """Say of one line whether it is within its limit; of one that was not measured whole, which inks are missing."""
    words = str(press.VERDICTS[ProofVerdict(line["verdict"])])
    missing = line.get("missing", ())  # older verdicts do not tell
    if line["verdict"] != ProofVerdict.NOT_MEASURED or not missing or line["value"] is None:
        return words
    return _("{words}: no patch of {inks}").format(words=words, inks=", ".join(missing))


def verdict_words(verdict: str, lines: Sequence[Mapping[str, Any]]) -> str:
    """Say how many lines are within their limits, how many beyond, and how many could not be judged."""
    counts = {kind: sum(line["verdict"] == kind for line in lines) for kind in ProofVerdict}
    parts = [
        ngettext("{n} line within its limit", "{n} lines within their limits", counts[ProofVerdict.PASS]).format(
            n=counts[ProofVerdict.PASS]
        )
    ]
    if counts[ProofVerdict.FAIL]:
        parts.append(_("{n} beyond").format(n=counts[ProofVerdict.FAIL]))
    if counts[ProofVerdict.NOT_MEASURED]:
        parts.append(_("{n} not measured").format(n=counts[ProofVerdict.NOT_MEASURED]))
    return ", ".join(parts)


def _changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    yield from _changed(_("trim"), *[size_in(told["trim"][0], told["trim"][1], Unit.MM) for told in (before, now)])
    yield from _changed(_("bleed"), length_words(before["bleed"], Unit.MM), length_words(now["bleed"], Unit.MM))
    bindings = [str(BINDING_WORDS[BindingKind(told["binding"])]).lower() for told in (before, now)]
    yield from _changed(_("binding"), *bindings)
    yield from _changed(_("endpapers"), *[str(ENDS_WORDS[EndsKind(told["ends"])]).lower() for told in (before, now)])
    yield from _changed(_("paper"), paper_words(before["paper"]), paper_words(now["paper"]))
    yield from _changed(_("printer"), *[told["printer"] or _("none named") for told in (before, now)])
    jackets = [_("a jacket") if told["has_jacket"] else _("none") for told in (before, now)]
    yield from _changed(_("jacket"), *jackets)
    yield from _figure_changes(before["figures"], now["figures"])


def _figure_changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    yield from _changed(_("unit"), before["unit"], now["unit"])
    for key, words in (("case_rules", _("rules of the case")), ("jacket_rules", _("rules of the jacket"))):
        yield from _changed(words, *[rule_words(told[key]) for told in (before, now)])
    conditions = [str(CONDITION_WORDS.get(told["condition"], told["condition"])) for told in (before, now)]
    yield from _changed(_("printing condition"), *conditions)
    limits = [f"{told['ink_limit']:g} %" if told["ink_limit"] else _("that of the condition") for told in (before, now)]
    yield from _changed(_("ink limit"), *limits)
    least = [
        f"{one:g} : 1" if (one := told.get("text_contrast")) else _("the starting value") for told in (before, now)
    ]
    yield from _changed(_("least contrast of text"), *least)
    for which in PrintFigure:
        figures = [told["own"].get(which.value) for told in (before, now)]
        start = _("the starting value")
        written = [start if mm is None else length_words(mm, Unit.MM) for mm in figures]
        yield from _changed(str(FIGURE_WORDS[which]).lower(), *written)


def rule_words(code: str) -> str:
    """Name a rule set by where it was published."""
    rules = CASE_RULES.get(code) or JACKET_RULES.get(code)
    return press.source(rules.source) if rules else code


def _changed(name: str, before: str, now: str) -> Iterator[str]:
    if before != now:
        yield _("{name} from {before} to {now}").format(name=name, before=before, now=now)
