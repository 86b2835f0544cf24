"""What speaks against a picture in print, as codes and values: what was found, and what was not looked at."""

from __future__ import annotations

from dataclasses import dataclass

from reviews.models import Passage, Picture
from reviews.press.cover_check import cover_faults
from reviews.press.file_check import FileFacts, FileFault, FileReport, FoundFault, NotLooked, check_file
from reviews.press.flats import Flat
from reviews.press.limits import ArtKind, FileLimits, Resolution
from reviews.press.pages import PieceKind
from reviews.press.placing import PlacedPicture
from reviews.queries.frames import flats_for, placed_on
from reviews.queries.print_checks import ART_OF_STAGE, InkKnown, has_inks
from reviews.queries.print_set_ups import print_of
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import PictureState, StageKind

#: Before final art: whether it can be judged at all, its shape and its colours.
_TOLD_OF_SKETCH = frozenset({FileFault.TOO_FEW_PIXELS, FileFault.WRONG_PROPORTIONS, FileFault.NO_PROFILE})
#: A PDF is shown with pixels that are not its own, and without the colours its art was made in.
_TOLD_OF_PDF = frozenset({FileFault.WRONG_PROPORTIONS, FileFault.FRONT_ALONE, FileFault.SPINE_MOVED})
_OF_SIZE = frozenset({FileFault.TOO_FEW_PIXELS, FileFault.FEW_PIXELS, FileFault.WRONG_PROPORTIONS, FileFault.NO_BLEED})
#: A sketch under this many pixels to the inch is blurred when it is looked at in the size it will be printed: fewer
#: than a plain screen shows. Common practice, no published figure.
_SKETCH_LIMITS = FileLimits(resolutions={ArtKind.TONE: Resolution(72.0, 72.0, "screen-at-print-size")})


@dataclass(frozen=True, kw_only=True)
class FileChecked:
    """A picture held against its piece. ``placed`` is how it lies there, None where that is not known.

    ``told`` are the faults that would have been told of it: of all others nothing is said.
    """

    report: FileReport
    placed: PlacedPicture | None
    is_for_print: bool
    told: frozenset[FileFault]


def is_checked(picture: Picture, passage: Passage) -> bool:
    """Say whether anything can be told of a picture: it is read, and nothing that the printer made."""
    stage = StageKind(passage.stage.kind)
    return picture.state == PictureState.READY and "mode" in picture.facts and stage not in PRINTERS_STAGES


def check_picture(picture: Picture, passage: Passage, ink: InkKnown | None = None) -> FileChecked:
    """Hold a picture against its piece, by what was stored of it (no query, no pixels).

    Needs book, with its print set-up, spread and stage joined; ``ink`` is what was measured, None where it is not yet.
    """
    kind, facts = StageKind(passage.stage.kind), facts_of(picture)
    placed, is_for_print = placed_on(picture, passage), kind in ART_OF_STAGE
    if placed is None:
        return FileChecked(report=FileReport((), ()), placed=None, is_for_print=is_for_print, told=frozenset())
    limits = print_of(passage.book).limits if is_for_print else _SKETCH_LIMITS
    found = ink.found if ink else None
    report = check_file(facts, placed.flat, ART_OF_STAGE.get(kind, ArtKind.TONE), limits, found)
    told = _told(picture, passage)
    faults = [fault for fault in report.faults if fault.code in told]
    missed = [_not_looked(picture, ink, report)] if is_for_print or picture.facts["kind"] == "PDF" else []
    if passage.spread.kind == PieceKind.COVER:
        faults, more = _of_cover(faults, facts, placed, passage, is_for_print=is_for_print)
        missed += more
    report = FileReport(tuple(faults), tuple(code for code in missed if code is not None))
    return FileChecked(report=report, placed=placed, is_for_print=is_for_print, told=told)


def _told(picture: Picture, passage: Passage) -> frozenset[FileFault]:
    """Name the faults that are told of a picture of this stage and kind."""
    kind = StageKind(passage.stage.kind)
    told = frozenset(FileFault) if kind in ART_OF_STAGE else _TOLD_OF_SKETCH
    if kind == StageKind.IDEAS:
        told -= {FileFault.WRONG_PROPORTIONS}  # several small ones may stand on one sheet
    if kind not in ART_OF_STAGE and picture.facts["mode"].startswith("GREY"):
        told -= {FileFault.NO_PROFILE}  # of a pencil drawing no colour is asked
    if kind == StageKind.FINISH:
        told -= {FileFault.NO_PROFILE, FileFault.RGB}  # a plate is where, not which colour
    return told & _TOLD_OF_PDF if picture.facts["kind"] == "PDF" else told


def _not_looked(picture: Picture, ink: InkKnown | None, report: FileReport) -> NotLooked | None:
    if picture.facts["kind"] == "PDF":
        return NotLooked.PDF_PIXELS
    if has_inks(picture):
        if ink is None:
            return NotLooked.INK_NOT_YET
        return NotLooked.INK_NOT_READ if ink.could_not_read else None
    return report.not_looked[0] if report.not_looked else None


def _of_cover(
    faults: list[FoundFault], facts: FileFacts, placed: PlacedPicture, passage: Passage, *, is_for_print: bool
) -> tuple[list[FoundFault], list[NotLooked]]:
    """Weigh a cover by its panels: while its spine is unknown nothing is said of its size."""
    _, whole = flats_for(passage)
    if not is_whole_known(whole):
        return [fault for fault in faults if fault.code not in _OF_SIZE], [NotLooked.COVER_SIZE]
    if not is_for_print:
        return faults, []
    found = cover_faults(facts, placed, whole)
    if found and found[0].code == FileFault.SPINE_MOVED:
        faults = [fault for fault in faults if fault.code != FileFault.WRONG_PROPORTIONS]
    elif found:  # the front alone: its bleed is no matter until the whole is drawn
        faults = [fault for fault in faults if fault.code not in {FileFault.WRONG_PROPORTIONS, FileFault.NO_BLEED}]
    return found + faults, []


def is_whole_known(whole: Flat) -> bool:
    """Say whether a cover's flat is its own, rather than two pages that stand for it while the paper is unknown."""
    return any(panel.kind == "front" for panel in whole.panels)


def facts_of(picture: Picture) -> FileFacts:
    """Give a picture's facts as the printed object reads them; a size that is not known is a pixel."""
    stored = picture.facts
    has_profile = bool(stored.get("profile_name"))
    return FileFacts(picture.width_px or 1, picture.height_px or 1, stored["mode"], stored.get("bits", 8), has_profile)
