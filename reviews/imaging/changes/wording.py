"""What a comparison says in words, and as plain values for a file or a page."""

from __future__ import annotations

from typing import Any

from reviews.geometry import Box, region_to_json
from reviews.imaging.changes.findings import CarriedNote, Change, Comparison
from reviews.imaging.changes.touch_evidence import RATES

_LABELS = {
    "moved": "moved",
    "changed": "drawn differently",
    "removed": "gone",
    "added": "new",
    "colour": "coloured differently",
    "detail": "small detail changed",
}


def sentences(c: Comparison) -> tuple[str, ...]:
    """Say what a person should know before looking, plainest first."""
    state, out = c.alignment.state, []
    if state == "not-aligned":
        return ("The two pictures could not be laid on each other with any certainty, so they are shown side by side.",)
    if state == "two-readings":
        out.append(
            "Two readings are possible: the whole page was moved, or its largest figure was. Look at both before "
            "you rely on what is marked."
        )
    if state == "check":
        out.append(
            "The pictures were laid on each other, but not surely. Check with the two faded over each other first."
        )
    if c.redraw_mm is not None and c.least_move_mm is not None and c.least_move_mm > 1.5:
        out.append(
            f"Redrawn freely (about {c.redraw_mm:.1f} mm from line to line): moves under {c.least_move_mm:.0f} mm "
            "are not shown."
        )
    if not c.changes and c.largest_move_mm is not None and c.largest_move_mm <= 1.0:
        out.append("Nothing moved more than 1 mm.")
    elif not c.changes:
        out.append("No change was found.")
    else:
        out.append(f"{len(c.changes)} {'place' if len(c.changes) == 1 else 'places'} to look at, heaviest first.")
    return tuple(out)


def change_sentence(change: Change) -> str:
    """Say one change in a line."""
    words = _LABELS[change.label]
    if change.vector_mm is None:
        return words.capitalize()
    x, y = change.vector_mm
    across = f"{abs(x):.1f} mm to the {'right' if x > 0 else 'left'}"
    along = f"{abs(y):.1f} mm {'down' if y > 0 else 'up'}"
    return f"{words.capitalize()} {across}, {along}"


def note_sentence(note: CarriedNote) -> str:
    """Say what was seen at one note: evidence, not a verdict on the person who drew."""
    where = {
        "here": "Its subject is where the page puts it.",
        "followed": "Its subject was followed to where it is now.",
        "cannot-tell": "Its subject was not found again; look for yourself.",
    }[note.state]
    what = {
        "touched": "Something changed here.",
        "untouched": "No change found here.",
        "cannot-tell": "Whether anything changed here cannot be told.",
    }[note.evidence.verdict]
    return f"{where} {what}"


def as_plain(c: Comparison) -> dict[str, Any]:
    """Return the comparison as values JSON can hold; boxes are [x0, y0, x1, y1] in fractions, five decimals."""
    alignment = c.alignment
    return {
        "method": c.method,
        "width_mm": c.width_mm,
        "sentences": list(c.sentences),
        "alignment": {
            "state": alignment.state,
            "runner_up": round(alignment.runner_up, 4),
            "a_size_px": list(alignment.a_size_px),
            "b_size_px": list(alignment.b_size_px),
            "readings": [
                {
                    "a_to_b": [list(row) for row in alignment.carry(i).rows()],
                    "score": round(r.score, 4),
                    "share": round(r.share, 4),
                    "overlap": round(r.overlap, 4),
                    "spread_frac": round(r.spread_frac, 6),
                }
                for i, r in enumerate(alignment.readings)
            ],
        },
        "redraw_mm": _rounded(c.redraw_mm),
        "least_move_mm": _rounded(c.least_move_mm),
        "largest_move_mm": _rounded(c.largest_move_mm),
        "changes": [_change(change) for change in c.changes],
        "other_changes": [_change(change) for change in c.other_changes],
        "notes": [_note(note) for note in c.notes],
        "other_notes": [_note(note) for note in c.other_notes],
        "notes_rates": RATES,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _box(box: Box | None) -> list[float] | None:
    return None if box is None else [round(v, 5) for v in (box.x0, box.y0, box.x1, box.y1)]


def _change(change: Change) -> dict[str, Any]:
    vector = change.vector_mm
    return {
        "label": change.label,
        "sentence": change_sentence(change),
        "old_on_a": _box(change.old_on_a),
        "new_on_a": _box(change.new_on_a),
        "on_a": _box(change.on_a),
        "on_b": _box(change.on_b),
        "vector_mm": None if vector is None else [round(v, 2) for v in vector],
        "mass_mm": round(change.mass_mm, 1),
        "score": round(change.score, 3),
    }


def _note(note: CarriedNote) -> dict[str, Any]:
    seen = note.evidence
    return {
        "state": note.state,
        "sentence": note_sentence(note),
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
