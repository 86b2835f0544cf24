"""How long a text takes to read aloud: its words at an even pace."""

from __future__ import annotations

import math
import re

#: Words a minute. Reading to small children is commonly somewhere between 100 and 160; from memory, no source.
WORDS_A_MINUTE = 130

# A word is a run of letters or figures, with what joins two of them: "nobody's" is one, and so is "moon-white".
_WORD = re.compile(r"[^\W_]+(?:['’\-][^\W_]+)*")


def n_words(text: str) -> int:
    """Count the words of a text; dashes and quotation marks are none."""
    return len(_WORD.findall(text))


def seconds_aloud(words: int) -> int:
    """Say how long so many words take, in whole seconds, rounded up to five: no reader is steadier than that."""
    return 5 * math.ceil(words * 60 / WORDS_A_MINUTE / 5)
