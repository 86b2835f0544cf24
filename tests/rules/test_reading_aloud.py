"""Words counted, and how long they take to read aloud."""

import pytest

from reviews.rules.reading_aloud import WORDS_A_MINUTE, n_words, seconds_aloud


@pytest.mark.parametrize(
    ("text", "n"),
    [
        ("", 0),
        ("Tansy took the big pail out,\nand nobody asked her why.", 11),
        ("“Is that mine?” said the heron.", 6),
        ("Nobody’s boat – not moon-white, not 3.", 6),
        ("Žofka šla k řece.", 4),
        ("… – !", 0),
    ],
)
def test_words_are_counted_as_a_reader_says_them(text, n):
    assert n_words(text) == n


def test_seconds_are_rounded_up_to_five_at_the_stated_pace():
    assert WORDS_A_MINUTE == 130  # common practice, said so on the page
    assert [seconds_aloud(words) for words in (0, 1, 10, 11, 130, 131)] == [0, 5, 5, 10, 60, 65]
