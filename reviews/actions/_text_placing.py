"""A version of a spread's text under way: weighed under the lock, then written with its entry."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from reviews.actions._deed import Act
from reviews.actions.text_grounds import ask_for_grounds_of
from reviews.models import Book, Spread, SpreadText
from reviews.press.flats import Flat
from reviews.press.pages import PieceKind
from reviews.press.refused import CannotPrint
from reviews.press.set_up import PieceName
from reviews.press.text_blocks import TextBlock
from reviews.press.text_text import blocks_to_text
from reviews.queries.briefs import first_sketch_approval, is_sketch_approved, newest_brief
from reviews.queries.print_set_ups import print_of
from reviews.queries.text_blocks import text_versions
from reviews.rules.brief_payloads import SetTextData
from reviews.rules.briefs import BriefPart
from reviews.rules.states import Cause, Refused, Role
from reviews.rules.text_blocks import (
    MOST_BLOCKS,
    MOST_LETTERS,
    MOVED_MM,
    BlockChange,
    TextVersion,
    against_brief,
    changes_between,
    drawn_to,
    is_text_change,
    moved_mm,
)

#: Our own bounds: smaller is no type a child reads, larger no block of a page.
LEAST_PT, MOST_PT = 4.0, 200.0
LEAST_MM = 1.0
#: A language by its tag (BCP 47), as far as pages need it: "en", "cy", "pt-BR", "sr-Latn".
_LANGUAGE = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8}){0,3}")
_COLOUR = re.compile(r"#[0-9a-f]{6}")


@dataclass(frozen=True, kw_only=True)
class Placing:
    """A next version of a spread's text that nothing speaks against; not written yet."""

    spread: Spread
    version: int
    said: list[dict[str, Any]]
    changed: dict[BlockChange, list[int]]
    is_change: bool
    moved_mm: float
    near_mm: float | None


def weigh(spread: Spread, blocks: Sequence[TextBlock], *, seen: int, book: Book) -> Placing:
    """Check the blocks of a spread against what stands; raise Refused where they cannot be its next version."""
    if spread.removed_at is not None:
        raise Refused("spread-elsewhere")
    versions = text_versions(spread)
    last = versions[0] if versions else None
    if (last.version if last else 0) != seen:
        raise Refused("text-changed-meanwhile")
    placed = _numbered([_checked(block) for block in blocks], versions)
    _check_places(placed, spread, book)
    said, before = blocks_to_text(placed), last.blocks if last else []
    changed = changes_between(before, said)
    if not changed:
        raise Refused("nothing-changed")
    is_late = is_sketch_approved(book, spread)
    is_change = is_late and (_is_changed(versions, said, book) if last else _is_new(spread, said, book))
    return Placing(
        spread=spread, version=seen + 1, said=said, changed=changed, is_change=is_change,
        moved_mm=moved_mm(before, said), near_mm=MOVED_MM if is_late and last and not is_change else None,
    )  # fmt: skip


def write(placing: Placing, act: Act, *, with_it: Sequence[Placing] = (), is_told: bool = True) -> SpreadText:
    """Write a version and its entry; its mail tells of those ``with_it`` too, whose own are then told nobody."""
    spread = placing.spread
    text = SpreadText.objects.create(
        book=act.book, spread=spread, version=placing.version, blocks=placing.said, is_change=placing.is_change,
        set_by=act.by, set_at=act.now,
    )  # fmt: skip
    ask_for_grounds_of(spread, text, act.book)
    act.holds(text)
    payload = SetTextData(
        version=text.version, text=text.pk, blocks=placing.said, spread=spread.label, spread_id=spread.pk,
        changed={kind.value: numbers for kind, numbers in placing.changed.items()},
        told_as=[Cause.TEXT.value] if placing.is_change else [],
        moved_mm=placing.moved_mm, near_mm=placing.near_mm,
        with_it=[other.spread.label for other in with_it],
        changes_with_it=[other.spread.label for other in with_it if other.is_change],
    )  # fmt: skip
    is_change = placing.is_change or any(other.is_change for other in with_it)
    act.record(payload, also_tell=frozenset({Role.AGENT}) if is_change else frozenset(), is_told=is_told)
    return text


def _is_changed(versions: Sequence[SpreadText], said: Sequence[Mapping[str, Any]], book: Book) -> bool:
    """Say whether blocks differ by more than a nudge from those that the approved art goes by."""
    told = [TextVersion(one.set_at, one.is_change, one.blocks) for one in versions]
    return is_text_change(drawn_to(told, first_sketch_approval(book, versions[0].spread)), said)


def _is_new(spread: Spread, said: Sequence[Mapping[str, Any]], book: Book) -> bool:
    """Say whether a first placing brings words that the brief, by which the sketch was drawn, does not have."""
    brief = newest_brief(book, spread)
    words = brief.parts.get(BriefPart.TEXT, "") if brief else ""
    held = against_brief(words, {one["number"]: one["words"] for one in said})
    return any(lines is None for lines in held.lines_of.values())


def _numbered(blocks: Sequence[TextBlock], versions: Sequence[SpreadText]) -> list[TextBlock]:
    """Give new blocks numbers that no block of this spread ever had; refuse a number that was never given."""
    if len(blocks) > MOST_BLOCKS:
        raise Refused("too-many-blocks", most=MOST_BLOCKS)
    known = {one["number"] for version in versions for one in version.blocks}
    asked = [block.number for block in blocks if block.number]
    if len(set(asked)) < len(asked) or not known >= set(asked):
        raise Refused("text-unreadable")
    free = iter(range(max(known, default=0) + 1, max(known, default=0) + 1 + len(blocks)))
    return [block if block.number else replace(block, number=next(free)) for block in blocks]


def _checked(block: TextBlock) -> TextBlock:
    """Refuse a block that no page could show."""
    words = "\n".join(line.rstrip() for line in block.words.replace("\0", "").splitlines()).strip("\n")
    if not words.strip():
        raise Refused("text-without-words")
    if len(words) > MOST_LETTERS:
        raise Refused("text-too-long", most=MOST_LETTERS)
    if not (LEAST_PT <= block.size_pt <= MOST_PT and LEAST_PT <= block.leading_pt <= 2 * MOST_PT):
        raise Refused("text-size-out-of-range", least=f"{LEAST_PT:g}", most=f"{MOST_PT:g}")
    if not _LANGUAGE.fullmatch(block.language):
        raise Refused("text-language-unknown")
    if not _COLOUR.fullmatch(block.colour):
        raise Refused("text-colour-unknown")
    return replace(block, words=words)


def _check_places(blocks: Sequence[TextBlock], spread: Spread, book: Book) -> None:
    flat = flat_of(spread, book)
    for block in blocks:
        right, bottom = block.left_mm + block.width_mm, block.top_mm + block.height_mm
        is_on_page = block.left_mm >= 0 and block.top_mm >= 0 and right <= flat.width_mm and bottom <= flat.height_mm
        if not is_on_page or min(block.width_mm, block.height_mm) < LEAST_MM:
            raise Refused("text-off-page", width=f"{flat.width_mm:g}", height=f"{flat.height_mm:g}")


def flat_of(spread: Spread, book: Book) -> Flat:
    """Lay flat the piece that text is placed on; raise Refused where none can be: a cover needs its paper told."""
    try:
        flats = print_of(book).flats()
    except CannotPrint as no:
        raise Refused(no.code, **no.values) from no
    if spread.kind == PieceKind.COVER:
        if PieceName.COVER not in flats:
            raise Refused("text-on-cover")
        return flats[PieceName.COVER]
    return flats[PieceName.SPREAD if spread.as_piece().n_pages_across == 2 else PieceName.PAGE]
