"""Blocks of text in words: their faces, what changed, what is wrong with them, why one can be refused."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.pages.wording.briefs import told_as_words
from reviews.press.text_blocks import Face, TextAlign, TextBlock
from reviews.press.text_check import FoundTextFault, TextFault
from reviews.rules.entries import Entry
from reviews.rules.text_blocks import BlockChange

FACES: Mapping[Face, Promise] = {
    Face.SERIF: gettext_lazy("Source Serif"),
    Face.SERIF_ITALIC: gettext_lazy("Source Serif, italic"),
    Face.SERIF_BOLD: gettext_lazy("Source Serif, bold"),
    Face.SERIF_BOLD_ITALIC: gettext_lazy("Source Serif, bold italic"),
    Face.SANS: gettext_lazy("Source Sans"),
    Face.SANS_ITALIC: gettext_lazy("Source Sans, italic"),
    Face.SANS_BOLD: gettext_lazy("Source Sans, bold"),
    Face.SANS_BOLD_ITALIC: gettext_lazy("Source Sans, bold italic"),
}
ALIGNMENTS: Mapping[TextAlign, Promise] = {
    TextAlign.LEFT: gettext_lazy("left"),
    TextAlign.CENTRE: gettext_lazy("centred"),
    TextAlign.RIGHT: gettext_lazy("right"),
}

TEXT_REFUSALS: Mapping[str, Any] = {
    "text-changed-meanwhile": gettext_lazy(
        "Somebody placed this spread’s text anew while you were at it. Yours is still in the form below: look at what "
        "is there now, then save what should hold."
    ),
    "text-unreadable": gettext_lazy("A figure of a block could not be read. Look at what is marked below."),
    "too-many-blocks": gettext_lazy("A spread takes up to {most} blocks of text. Put some together."),
    "text-without-words": gettext_lazy("A block has no words. Write them, or take the block away."),
    "text-too-long": gettext_lazy("A block has more than {most} characters. Make two of it."),
    "text-size-out-of-range": gettext_lazy(
        "Type is between {least} and {most} pt high, and its lines at least {least} pt apart. Check the figures."
    ),
    "text-language-unknown": gettext_lazy("Write the language as its tag, such as en, cy or pt-BR."),
    "text-colour-unknown": gettext_lazy("Write the colour as six figures after a #, such as #1a1a1a for near black."),
    "text-off-page": gettext_lazy(
        "A block lies off the paper, which is {width} by {height} mm within its trim, or is smaller than a millimetre."
    ),
    "text-on-cover": gettext_lazy(
        "A cover’s text lies on back, spine and front in one piece, whose size needs the paper. Tell it in the print "
        "set-up first."
    ),
}


def block_words(block: TextBlock) -> str:
    """Say how and where a block is set, from the corner of the trim."""
    return _(
        "{face}, {size:g} pt on {leading:g} pt, {align}, {colour}, {language}; {left:g} mm from the left and {top:g} "
        "mm from the top, {width:g} × {height:g} mm"
    ).format(
        face=FACES[block.face], size=block.size_pt, leading=block.leading_pt, align=ALIGNMENTS[block.align],
        colour=block.colour, language=block.language, left=block.left_mm, top=block.top_mm, width=block.width_mm,
        height=block.height_mm,
    )  # fmt: skip


def _numbers(kind: str, numbers: list[int]) -> str:
    listed = ", ".join(str(number) for number in numbers)
    told = {
        BlockChange.ADDED: ngettext("block {listed} added", "blocks {listed} added", len(numbers)),
        BlockChange.REMOVED: ngettext("block {listed} taken away", "blocks {listed} taken away", len(numbers)),
        BlockChange.WORDS: ngettext("other words in block {listed}", "other words in blocks {listed}", len(numbers)),
        BlockChange.PLACE: ngettext("block {listed} moved", "blocks {listed} moved", len(numbers)),
        BlockChange.TYPE: ngettext("block {listed} set otherwise", "blocks {listed} set otherwise", len(numbers)),
    }[BlockChange(kind)]
    return told.format(listed=listed)


def changed_words(changed: Mapping[str, list[int]], moved_mm: float | None = None) -> str:
    """Say what became of which block, in the middle of a sentence, and how far one moved at most, where it is known."""
    told = "; ".join(_numbers(kind, numbers) for kind, numbers in changed.items())
    if not moved_mm or BlockChange.PLACE not in changed:
        return told
    return _("{told} (by {mm:g} mm at most)").format(told=told, mm=moved_mm)


def nudge_words(near_mm: float | None) -> str:
    """Say of a version placed after an approved sketch why it is no change of text; nothing of any other."""
    if near_mm is None:
        return ""
    told = _(
        "Within {mm:g} mm of where it stood at the approval, or was first placed or changed since: "
        "a move, and no change of text."
    )
    return told.format(mm=near_mm)


def set_text_sentence(entry: Entry) -> str:
    """Tell who placed the text of a spread, what changed, and that it is a change where it is one."""
    data = entry.data
    told = (
        _("{by} placed the text of {spread}: {changed}.")
        if data["version"] == 1
        else _("{by} changed the text on {spread}, version {version}: {changed}.")
    )
    words = told.format(
        by=entry.by, spread=data["spread"], version=data["version"],
        changed=changed_words(data["changed"], data.get("moved_mm")),
    )  # fmt: skip
    said = (words, told_as_words(data["told_as"]), nudge_words(data.get("near_mm")), *_told_with(data))
    return " ".join(filter(None, said))


def _told_with(data: Mapping[str, Any]) -> list[str]:
    """Tell of the other spreads whose text was placed in the same act; older entries name none."""
    others, changes = data.get("with_it", []), data.get("changes_with_it", [])
    told = [_("With it the text of {spreads} was placed.").format(spreads="; ".join(others))] if others else []
    if changes:
        also = _("On {spreads} it came after an approved sketch: a change of text.")
        told.append(also.format(spreads="; ".join(changes)))
    return told


def text_along_words(texts: Sequence[Mapping[str, Any]]) -> str:
    """Say which placed text went along to pages that were laid out anew, and which of it had to be moved."""
    if not texts:
        return ""
    each = [_along(one) for one in texts]
    return _("The placed text went along: {each}.").format(each="; ".join(each))


def _along(one: Mapping[str, Any]) -> str:
    numbers = [block["number"] for block in one["blocks"]]
    told = ngettext("block {listed} on {spread}", "blocks {listed} on {spread}", len(numbers))
    told = told.format(listed=", ".join(map(str, numbers)), spread=one["spread"])
    if not one["shifted"]:
        return told
    crossed = ngettext(
        "block {listed} crossed the fold and was moved onto its page",
        "blocks {listed} crossed the fold and were moved onto their page",
        len(one["shifted"]),
    )
    return f"{told} ({crossed.format(listed=', '.join(map(str, one['shifted'])))})"


_FAULTS: Mapping[TextFault, Promise] = {
    TextFault.IN_GUTTER: gettext_lazy(
        "Block {block} stands in the gutter band by up to {by_mm:g} mm ({gutter_mm:g} mm each side of the fold, print "
        "set-up). Move it away from the fold."
    ),
    TextFault.OUTSIDE_SAFETY: gettext_lazy(
        "Block {block} stands outside the safe area by up to {by_mm:g} mm ({safety_mm:g} mm inside the trim, print "
        "set-up). Move it inwards."
    ),
    TextFault.ON_FOLD: gettext_lazy(
        "Block {block} lies across a fold of the cover (spine, hinge or flap). Move it onto one panel."
    ),
    TextFault.LETTERS_MISSING: gettext_lazy(
        "The face of block {block} does not have {letters}. Choose another; the designer’s own face may have it."
    ),
    TextFault.LOW_CONTRAST: gettext_lazy(
        "Block {block} is hard to read on the art: at the worst square its colour has a contrast of {worst:g} : 1, and "
        "{least:g} : 1 is asked for ({source}). Move it, give it another colour, or ask for quieter art there."
    ),
    TextFault.ON_BUSY_ART: gettext_lazy(
        "Block {block} stands on busy art: in {per_cent:g} % of its squares a tenth of the art has less contrast with "
        "its colour than {least:g} : 1 ({source}). Move it, or ask for quieter art there."
    ),
}


def text_fault(found: FoundTextFault, source: str = "") -> str:
    """Say what is wrong with a block, how bad, and what to do."""
    if found.code == TextFault.DOES_NOT_FIT:
        told = _("Block {block} does not fit its box: {how}. Make the box larger, or the type smaller.")
        return told.format(block=found.block, how=_overrun(found.values))
    return str(_FAULTS[found.code]).format(block=found.block, source=source, **found.values)


def _overrun(values: Mapping[str, Any]) -> str:
    told = [
        words.format(mm=values[name])
        for name, words in (
            ("below_mm", _("its last line stands {mm:g} mm below it")),
            ("beyond_mm", _("a word is {mm:g} mm wider than it")),
        )
        if values[name] > 0
    ]
    return _(" and ").join(told)
