"""What changed between versions and why: the notes as they were written, and where each edit is on the picture."""

from reviews.demo.cover import FRONT_AT, WHOLE_H, WHOLE_W, S
from reviews.demo.redraws import Box, DemoNote, Key, Redraw, came, moved, note, went


def _on_front(box: Box) -> Box:
    """Turn a place on the front into the same place on the cover in one piece."""
    x0, y0, x1, y1 = box
    left, top = FRONT_AT
    return (left + x0 * S) / WHOLE_W, (top + y0 * S) / WHOLE_H, (left + x1 * S) / WHOLE_W, (top + y1 * S) / WHOLE_H


CHANGES: dict[Key, tuple[Redraw, ...]] = {
    ("cover", "sketch", 2): (
        went(
            "Old Heron leaves the cover",
            _on_front((0.60, 0.14, 1.00, 0.96)),
            "The heron fights the title for the right-hand side. Take him off the front; this cover is hers and "
            "the pail's.",
            "new_direction",
        ),
        moved(
            "Tansy grows and comes to the middle",
            _on_front((0.16, 0.52, 0.60, 0.93)),
            _on_front((0.16, 0.50, 0.70, 0.95)),
            "Sales want to see her across a shop. Larger please, and nearer the middle, still with both arms "
            "round the pail.",
            "brief: Large enough to be seen",
            shape="outline",
        ),
        moved(
            "The title grows",
            _on_front((0.18, 0.05, 0.82, 0.50)),
            _on_front((0.13, 0.04, 0.87, 0.50)),
            "The title could be a good size bigger; keep the two moons in it, everybody in the meeting loved those.",
            "brief: The title carries",
        ),
        came(
            "Pocket sits on the stone",
            _on_front((0.62, 0.75, 0.86, 0.90)),
            "Pocket is in every opening from page four. May he have a place on the front as well, looking at the "
            "light?",
            "question",
            "editor",
        ),
    ),
    ("4-5", "sketch", 2): (
        moved(
            "The moon goes to the right page",
            (0.52, 0.12, 0.67, 0.40),
            (0.72, 0.15, 0.88, 0.43),
            "The moon hangs beside the gutter and will look pinched when bound. Take it well over onto the "
            "right-hand page.",
            "brief: Nothing that matters",
        ),
        moved(
            "Tansy comes forward, towards her door",
            (0.39, 0.58, 0.54, 0.87),
            (0.31, 0.44, 0.51, 0.86),
            "This is where we meet her and she is too small. Bring her forward, nearer her own door, so we can "
            "read her face.",
            "brief: We meet Tansy here",
            shape="outline",
        ),
        came(
            "Pocket follows",
            (0.55, 0.80, 0.65, 0.93),
            "New last line: 'and somebody very small came after'. So Pocket needs to be on the path behind or "
            "below her.",
            "text_change",
            "editor",
            "point",
        ),
        came(
            "Old Heron crosses the sky",
            (0.62, 0.32, 0.76, 0.48),
            "Could a far-off heron cross the sky, quite small? It would prepare his entrance on page twelve "
            "without a word.",
            "new_direction",
        ),
    ),
    ("6-7", "sketch", 2): (
        moved(
            "Tansy and the pail come closer to the reflection",
            (0.02, 0.26, 0.40, 0.80),
            (0.10, 0.26, 0.50, 0.80),
            "The pail is nowhere near the moon on the water. Close the gap until the next ripple would touch the rim.",
            "brief: The pail almost touches",
        ),
        moved(
            "The reflection drifts towards her",
            (0.58, 0.72, 0.92, 0.90),
            (0.48, 0.75, 0.83, 0.93),
            "Bring the reflection to meet her as well, and keep it whole: this is the last time we see it unbroken.",
            "brief: The reflection is whole",
            shape="outline",
        ),
        went(
            "Old Heron goes",
            (0.68, 0.17, 0.93, 0.68),
            "Please lose the heron here. Their first meeting is on twelve and thirteen, and this gives it away.",
            "new_direction",
        ),
        came(
            "Pocket watches from behind her",
            (0.05, 0.56, 0.15, 0.72),
            "The text now has 'Pocket held his breath', so he should be on the stone behind her, watching.",
            "text_change",
            "editor",
            "point",
        ),
    ),
    ("8-9", "sketch", 2): (
        moved(
            "The pail moves to the right page and grows",
            (0.29, 0.10, 0.71, 0.91),
            (0.39, 0.05, 0.87, 0.98),
            "The moon lies dead in the gutter; half of it disappears in the binding. Shift pail and moon to the "
            "right page, a little larger.",
            "brief: Nothing that matters",
        ),
        came(
            "Pocket looks in from the rim",
            (0.70, 0.07, 0.92, 0.45),
            "We say 'they looked in', so there must be two faces. Pocket on the far side of the rim, please.",
            "text_change",
            "editor",
        ),
        moved(
            "Room for the text on the left page",
            (0.04, 0.49, 0.25, 0.66),
            (0.04, 0.42, 0.27, 0.58),
            "Is five lines of text possible at the left without touching her back? The last one matters most.",
            "question",
            "editor",
            "point",
        ),
    ),
    ("10-11", "sketch", 2): (
        moved(
            "Tansy grows and is further on",
            (0.12, 0.53, 0.30, 0.83),
            (0.23, 0.42, 0.48, 0.81),
            "She is lost at the bottom of the hill. Half as big again, and well under way: this is the heavy "
            "part of her night.",
            "brief: The heavy part of her night",
        ),
        came(
            "More moths come to the light",
            (0.33, 0.38, 0.58, 0.77),
            "Three moths are not a chorus. Could the whole company be round the pail, as if they had all heard?",
            "new_direction",
        ),
        moved(
            "The text changes sides",
            (0.04, 0.06, 0.28, 0.24),
            (0.51, 0.33, 0.69, 0.53),
            "The text was moved to the right-hand page in layout; please leave quiet sky for five lines there.",
            "text_change",
            "editor",
        ),
    ),
    ("10-11", "sketch", 3): (
        went(
            "The crescent leaves the sky",
            (0.54, 0.07, 0.66, 0.29),
            "There cannot be a moon in the sky: she is carrying it. No crescent anywhere until page "
            "twenty-eight, please.",
            "brief: No moon in the sky",
        ),
        moved(
            "The willow stands on the left",
            (0.68, 0.00, 1.00, 0.72),
            (0.00, 0.10, 0.33, 0.90),
            "After the meeting: the willow stops her walking. Try it behind her on the left, so that the hill "
            "opens up ahead.",
            "new_direction",
        ),
        went(
            "Fewer moths",
            (0.30, 0.38, 0.52, 0.77),
            "Nine moths hide the pail and its light, and we lose her paws. Five are plenty, and none in front of "
            "her face.",
            "new_direction",
            shape="outline",
        ),
        came(
            "Pocket climbs behind her",
            (0.14, 0.72, 0.28, 0.87),
            "Pocket needs to be on this climb; in the new text he asks whether it is much further.",
            "text_change",
            "editor",
        ),
    ),
    ("10-11", "sketch", 4): (
        moved(
            "Tansy nearly reaches the top",
            (0.23, 0.42, 0.48, 0.81),
            (0.51, 0.33, 0.76, 0.73),
            "Marketing would like her almost at the top, on the right page, so that the page turn finishes the climb.",
            "new_direction",
        ),
        moved(
            "The willow goes back to the right",
            (0.00, 0.10, 0.33, 0.90),
            (0.68, 0.00, 1.00, 0.72),
            "With her on the right the left corner is too heavy. Back to the first place for the willow; sorry "
            "to turn you round.",
            "new_direction",
        ),
        moved(
            "Pocket keeps up",
            (0.14, 0.72, 0.28, 0.87),
            (0.38, 0.66, 0.52, 0.82),
            "Pocket should keep the same distance behind her as before, so move him up the hill too.",
            "brief: Pocket climbs behind her",
            shape="point",
        ),
        moved(
            "The text comes back to the left",
            (0.58, 0.19, 0.83, 0.38),
            (0.04, 0.06, 0.28, 0.24),
            "With her on the right, the five lines can come back to the left-hand page, where layout had them first.",
            "text_change",
            "editor",
        ),
    ),
    ("12-13", "sketch", 2): (
        moved(
            "Old Heron bends his neck down to her",
            (0.13, 0.00, 0.52, 0.62),
            (0.17, 0.12, 0.68, 0.62),
            "He should bend right down and look into the pail. At the moment he is only standing for his portrait.",
            "brief: Old Heron bends",
        ),
        moved(
            "Tansy leans back instead of reaching up",
            (0.58, 0.38, 0.84, 0.90),
            (0.60, 0.42, 0.84, 0.90),
            "She would not reach towards that beak. Let her lean back, hold on to the pail, and look worried.",
            "brief: Tansy holds on",
            shape="outline",
        ),
        came(
            "Pocket hides behind her tail",
            (0.79, 0.74, 0.92, 0.90),
            "Where is Pocket? The text leaves him out, but children will ask. Behind her, I thought.",
            "question",
            "editor",
        ),
    ),
    ("16-17", "sketch", 2): (
        moved(
            "The upper board now says MIND THE TOAD",
            (0.49, 0.36, 0.77, 0.52),
            (0.49, 0.36, 0.77, 0.52),
            "The rhyme changed: the upper board must now read MIND THE TOAD. HOME stays exactly as it is.",
            "text_change",
            "editor",
        ),
        moved(
            "Pocket makes room",
            (0.68, 0.73, 0.83, 0.92),
            (0.74, 0.72, 0.90, 0.91),
            "Give the post some air on its right; Pocket can go a little further along the path.",
            "brief: Air on both sides",
            shape="point",
        ),
    ),
}

# What nobody asked for: the approved sketch and the line after it differ here.
DRIFT: dict[Key, tuple[Redraw, ...]] = {
    ("8-9", "line", 1): (Redraw("Pocket slid down the rim", (0.70, 0.07, 0.92, 0.45), (0.76, 0.28, 0.97, 0.64)),)
}

# Marked on the newest version and not answered yet.
OPEN: dict[Key, tuple[DemoNote, ...]] = {
    ("10-11", "sketch", 4): (
        note(
            (0.51, 0.33, 0.76, 0.73),
            "Good, she is nearly there now. Is the slope steep enough, though? It should cost her something.",
            "question",
        ),
        note(
            (0.68, 0.00, 1.00, 0.72),
            "The willow's branches hang behind her ears; part them so that her head stands clear against the sky.",
            "new_direction",
            shape="outline",
        ),
    ),
    ("14-15", "sketch", 1): (
        note(
            (0.53, 0.40, 0.64, 0.90),
            "The pail sits a hair's breadth from the gutter. Two centimetres to the right and it is safe.",
            "brief: Nothing that matters",
        ),
        note(
            (0.74, 0.10, 0.94, 0.23),
            "We need one more line of text here; could the ferns open at the top for it?",
            "text_change",
            "editor",
        ),
    ),
    ("16-17", "sketch", 2): (
        note(
            (0.51, 0.50, 0.78, 0.66),
            "Would HOME be clearer if its board pointed the way she is walking? Only asking.",
            "question",
            "editor",
            "point",
        ),
    ),
    ("18-19", "sketch", 1): (
        note(
            (0.51, 0.36, 0.67, 0.56),
            "A ferryman, and nothing of a ferryman about him: might he also carry a coil of rope over his shoulder?",
            "brief: He carries what ferrymen",
        ),
    ),
    ("12-13", "ink", 1): (
        note(
            (0.30, 0.60, 0.40, 0.93),
            "His legs almost touch in the inks; open them a little so that the water shows between.",
            "brief: Old Heron bends",
        ),
    ),
}


def notes_for(piece: str, stage: str, version: int) -> list[DemoNote]:
    """Return the notes that this version answers; they stand on the version before it, at the same stage."""
    return [change.note for change in CHANGES.get((piece, stage, version), ()) if change.note]


def notes_on(piece: str, stage: str, version: int) -> list[DemoNote]:
    """Return the notes marked on this version: those the next one answers, or those still open."""
    return notes_for(piece, stage, version + 1) or list(OPEN.get((piece, stage, version), ()))
