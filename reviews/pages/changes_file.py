"""A comparison as plain values for a file, with its sentences: what ``manage.py changes --json`` prints."""

from __future__ import annotations

from typing import Any

from reviews.geometry import Box, region_to_json
from reviews.imaging.changes.findings import Alignment, ComparisonResult, FoundChange, Remark, TransferredNote
from reviews.imaging.changes.measured import N_PAIRS, fineness
from reviews.imaging.changes.remarks import is_evident
from reviews.pages.wording.changes import change_sentence, note_sentence, remark_sentence


def remark_words(remark: Remark) -> str:
    """Say one remark of a comparison that was just made."""
    return remark_sentence(remark.coded())


def comparison_json(result: ComparisonResult, rates: Remark) -> dict[str, Any]:
    """Return the comparison as values JSON can hold; boxes are [x0, y0, x1, y1] in fractions, five decimals."""
    return {
        "method": result.method,
        "width_mm": result.width_mm,
        "sentences": [remark_words(remark) for remark in result.remarks],
        "alignment": _alignment(result.alignment),
        "redraw_mm": _rounded(result.redraw_mm),
        "least_move_mm": _rounded(result.least_move_mm),
        "largest_move_mm": _rounded(result.largest_move_mm),
        "changes": [_change(change) for change in result.changes],
        "other_changes": [_change(change) for change in result.other_changes],
        "unsure": [_change(change) for change in result.unsure],
        "compared": _compared(result),
        "notes": [_note(note) for note in result.notes],
        "other_notes": [_note(note) for note in result.other_notes],
        "notes_rates": remark_words(rates),
    }


def _compared(result: ComparisonResult) -> dict[str, Any] | None:
    """Return what the findings rest on: shares of both pictures that were compared, and how finely was looked."""
    if result.coverage is None or result.media is None:
        return None
    return {
        "share_of_approved": _rounded(1 - result.coverage.of_a.area),
        "share_of_new": _rounded(1 - result.coverage.of_b.area),
        "media": result.media,
        "colours": result.is_colour_compared,
        "is_evident_that_nothing_was_found": is_evident(result),
        "noticed": fineness(result.media),
        "measured_on_pairs": N_PAIRS,
    }


def _alignment(alignment: Alignment) -> dict[str, Any]:
    return {
        "state": alignment.state,
        "runner_up": round(alignment.runner_up, 4),
        "a_size_px": list(alignment.a_size_px),
        "b_size_px": list(alignment.b_size_px),
        "readings": [
            {
                "a_to_b": [list(row) for row in alignment.a_to_b(i).rows()],
                "score": round(r.score, 4),
                "share": round(r.share, 4),
                "overlap": round(r.overlap, 4),
                "spread_frac": round(r.spread_frac, 6),
            }
            for i, r in enumerate(alignment.readings)
        ],
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _box(box: Box | None) -> list[float] | None:
    return None if box is None else [round(v, 5) for v in (box.x0, box.y0, box.x1, box.y1)]


def _change(change: FoundChange) -> dict[str, Any]:
    vector = change.vector_mm
    return {
        "label": change.label,
        "sentence": change_sentence(change.label, vector, scale=change.scale, turn_deg=change.turn_deg),
        "old_on_a": _box(change.old_on_a),
        "new_on_a": _box(change.new_on_a),
        "on_a": _box(change.on_a),
        "on_b": _box(change.on_b),
        "vector_mm": None if vector is None else [round(v, 2) for v in vector],
        "scale": round(change.scale, 3),
        "turn_deg": round(change.turn_deg, 1),
        "mass_mm": round(change.mass_mm, 1),
        "score": round(change.score, 3),
    }


def _note(note: TransferredNote) -> dict[str, Any]:
    seen = note.evidence
    return {
        "state": note.state,
        "sentence": note_sentence(note.state, seen.verdict),
        "by_page": region_to_json(note.by_page),
        "on_b": region_to_json(note.on_b),
        "vector_mm": [round(v, 2) for v in note.vector_mm],
        "scale": note.scale,
        "turn_deg": note.turn_deg,
        "match": round(note.match, 3),
        "touched": {
            "verdict": seen.verdict,
            "score": round(seen.score, 3),
            "unmatched_share": round(seen.unmatched_share, 3),
            "line_mm": round(seen.line_mm, 1),
        },
    }
