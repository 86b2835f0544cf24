"""Where the trade has a word, people read that word: phrases of our own that were given up do not come back."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

#: What nobody is to read on a screen, in a mail or on a paper, by the word that is used instead. Whole words, any case.
GIVEN_UP = {
    r"weigh(s|ed|ing)?\b(?! of the paper)": "decide",
    r"let (it|them|this|one|no note) through|let through": "include",
    r"h[oe]ld (it )?back (a|the) note|hold it back": "leave out",
    r"keep these (lines|words)|keep this choice|keep as a draft": "save",
    r"under the note": "reply",
    r"put (this|that) away|is put away": "dismiss",
    r"never mind": "cancel",
    r"farther|nearer": "zoom out, zoom in",
    r"lay it over|lay the art over|pull back|pulled back": "overlay, wipe",
    r"voices?": "sign-off",
    r"approval falls": "cancels the approval",
    r"(is|are|still) being read|being read\b": "processing",
    r"unwanted mail": "spam",
    r"pinned|pin (a|the) note": "mark, add a note",
    r"(?:fee|rounds?|changes?|letter) beyond|goes? beyond": "extra fee, extra rounds",
    r"beyond (?:the fee|the rounds in|those in)": "extra fee, extra rounds",
    r"ledger lines?|lines? of the ledger|made by (?:line|entr)\w*": "ledger entries",
    r"cancellation (?:fee|share)": "kill fee (if the book is cancelled)",
    r"holds no rounds|no rounds in the fee": "includes no rounds",
    r"(?:answer(?:ed)?|hand(?:ed)? in|paid|come|came|comes) in time": "on time",
    r"second approval": "sign-off",
    r"the fee holds": "the fee includes",
    r"approved by silence": "deemed approved",
    r"asked back": "asked a question",
    r"nothing here for you": "page not found",
    r"not yours to do": "you don’t have access to this",
    r"an opening (of|is|can|starts)|into an opening": "double-page spread",
    r"so since": "since",
    r"pieces? of news": "update",
    r"dates? out of reach": "deadline that cannot be met",
    r"stages of the inside": "interior",
    r"kept in the house": "publisher’s private remark",
    r"if everybody keeps every day": "even if everyone keeps to their dates",
    r"what runs or stands out": "open or overdue",
    r"who holds (it|what)": "who has it, whose turn it is",
    r"(letter|ledger|reply|corner|this) (now )?stood": "is",
    r"(?<!as it )(?<!as they )stands(?! out| in | for | on | outside | \{)": "is, holds",
    r"(should|goes? on) stand(ing)?": "hold, stay",
}
_BANNED = {re.compile(rf"(?<![\w-])(?:{pattern})(?![\w-])", re.IGNORECASE): word for pattern, word in GIVEN_UP.items()}
_READ_ALOUD = re.compile(r'\b(?:aria-label|title|alt|placeholder|data-ask|data-ask-yes|label|words|lead)="([^"]*)"')
_NO_TEXT = re.compile(r"{% comment %}.*?{% endcomment %}|{#.*?#}|<script\b.*?</script>|<style\b.*?</style>", re.DOTALL)


def of_template(source: str) -> Iterator[str]:
    """List what a person reads or hears of a template: its text, and the attributes and arguments that are words."""
    shown = _NO_TEXT.sub(" ", source)
    yield from _READ_ALOUD.findall(shown)
    yield " ".join(re.sub(r"{%.*?%}|{{.*?}}|<[^>]*>", " ", shown, flags=re.DOTALL).split())


def of_python(source: str) -> Iterator[str]:
    """List the literals of a module that may be words for a person: those with a space or a capital, no docstrings."""
    tree = ast.parse(source)
    spared = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and ast.get_docstring(node) is not None
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        is_words = isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in spared
        if is_words and re.search(r"[A-Z ]", node.value):
            yield node.value


def of_script(source: str) -> Iterator[str]:
    """List the strings of a script, without its comments."""
    bare = re.sub(r"/\*.*?\*/|(?<![:\"'`])//[^\n]*", " ", source, flags=re.DOTALL)
    for words in re.findall(r'"([^"\n]*)"|`([^`]*)`', bare):
        text = re.sub(r"\${[^}]*}", " ", words[0] or words[1])
        if re.search(r"[A-Z ]", text):
            yield text


READERS = {".html": of_template, ".txt": of_template, ".py": of_python, ".js": of_script, ".md": lambda text: [text]}
PLACES = ("templates", "static/js", "reviews/pages", "reviews/notices", "reviews/forms", "reviews/views")


def read_by_people() -> Iterator[tuple[str, str]]:
    paths = [ROOT / "README.md"] + [path for place in PLACES for path in sorted((ROOT / place).rglob("*"))]
    for path in paths:
        if path.is_file() and path.suffix in READERS:
            for text in READERS[path.suffix](path.read_text()):
                yield path.relative_to(ROOT).as_posix(), text


def given_up(text: str) -> list[str]:
    return [f"“{found[0]}”: {word}" for banned, word in _BANNED.items() if (found := banned.search(text))]


def test_nobody_reads_a_word_that_was_given_up():
    wrong = {}
    for name, text in read_by_people():
        if found := given_up(text):
            wrong.setdefault(name, []).extend(found)
    assert wrong == {}


def test_enough_is_read_for_that_to_mean_something():
    read = list(read_by_people())
    assert len({name for name, _ in read}) > 200
    assert sum(len(text.split()) for _, text in read) > 10_000


@pytest.mark.parametrize(
    ("reader", "source"),
    [
        (of_template, "{% if x %}<p>The second\n voice</p>{% endif %}"),
        (of_template, '<button aria-label="Farther"></button>'),
        (of_template, '{% include "parts/state_mark.html" with words="Approved by silence" %}'),
        (of_python, 'def f():\n    """Not read: voice."""\n    return _("3 notes to weigh")'),
        (of_script, 'this.say("One corner stands."); // no voice here'),
        (of_script, "this.say(`Lay it over ${name}`);"),
        (of_python, 'headings = ("Rounds used", "Ledger lines")'),
        (of_python, 'headings = ("Spread and stage", "Stands")'),
        (of_python, 'said = _("This letter is beyond the rounds in the fee.")'),
        (of_template, "<th>Fee for each\n round beyond</th>"),
        (of_template, "<p>It was answered in time.</p>"),
        (of_template, "<p>Until then the date above stands.</p>"),
    ],
)
def test_each_reader_finds_what_was_planted(reader, source):
    assert sum(len(given_up(text)) for text in reader(source)) == 1


@pytest.mark.parametrize(
    "text",
    [
        "Invoices go out on the day.",
        "the weight of the paper",
        "This account is as it stood at the end of that day.",
        "Opening lines",
        "A TIFF could not be read here.",
        "Only the days beyond them are counted as late.",
        "There is no line here any more.",
        "The brief as it stands; what was chosen stands out.",
    ],
)
def test_plain_words_are_left_alone(text):
    assert given_up(text) == []
