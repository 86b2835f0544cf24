"""Two parts of a word processor's file (ISO/IEC 29500): the list of its parts, and the body with its paragraphs.

Read by expat, a piece at a time. A document type, and with it every entity of a file's own, is refused: the standard
knows none. Elements nested deeper than any document are refused too, before they cost memory.
"""

from __future__ import annotations

from xml.parsers import expat

from reviews.rules.manuscript.breaking import PAGE_BREAK
from reviews.rules.states import Refused

#: Of the standard's two forms, transitional and strict.
_WORD = (
    "http://schemas.openxmlformats.org/wordprocessingml/2006/main",
    "http://purl.oclc.org/ooxml/wordprocessingml/main",
)
_PARAGRAPH = tuple(f"{space} p" for space in _WORD)
_MAIN_KINDS = (
    "wordprocessingml.document.main+xml",
    "wordprocessingml.template.main+xml",
    "ms-word.document.macroEnabled.main+xml",
)
#: Tables in tables in text boxes come to some dozens.
_DEEPEST = 200
#: Our own bounds, so that no small file keeps a request busy: 20 MB of empty elements, which pack into 20 kB, took 15 s
#: on a busy machine, and one tag of as much 17 s.
MOST_ELEMENTS, MOST_TAG_BYTES = 500_000, 256 * 1024
_FED_BYTES = 64 * 1024
#: What is not the text as it stands: struck out, moved away, in a box beside it, or a copy for older programs.
_SKIPPED = {"del": "tracked", "moveFrom": "tracked", "txbxContent": "boxes", "Fallback": ""}
#: What shows that something of the file is not in its text.
_SIGNS = {"ins": "tracked", "footnoteReference": "notes", "endnoteReference": "notes", "commentReference": "comments"}
_OFF = ("0", "false", "off")


class _Part:
    """One part of a file, read from its beginning to its end."""

    def __init__(self) -> None:
        self.depth = self.n_elements = 0

    def _read(self, content: bytes) -> None:
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.buffer_text = True
        parser.StartDoctypeDeclHandler = self._refuse
        parser.EntityDeclHandler = self._refuse
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self.letters
        for at in range(0, len(content), _FED_BYTES):
            parser.Parse(content[at : at + _FED_BYTES], False)
            if at - parser.CurrentByteIndex > MOST_TAG_BYTES:
                raise Refused("manuscript-too-packed")
        parser.Parse(b"", True)

    def _refuse(self, *_told: object) -> None:
        raise Refused("manuscript-entities")

    def _start(self, name: str, values: dict[str, str]) -> None:
        self.depth += 1
        self.n_elements += 1
        if self.depth > _DEEPEST or self.n_elements > MOST_ELEMENTS:
            raise Refused("manuscript-too-packed")
        self.begin(name, values)

    def _end(self, name: str) -> None:
        self.depth -= 1
        self.finish(name)

    def begin(self, name: str, values: dict[str, str]) -> None:
        """Take the start of an element."""

    def finish(self, name: str) -> None:
        """Take the end of an element."""

    def letters(self, letters: str) -> None:
        """Take letters between two tags."""


class MainPart(_Part):
    """Finds the name of the main part: not every program calls it ``word/document.xml``."""

    def __init__(self) -> None:
        super().__init__()
        self.name: str | None = None

    def of(self, content: bytes) -> str | None:
        """Name the main part; None where the file is no word processor's."""
        self._read(content)
        return self.name

    def begin(self, name: str, values: dict[str, str]) -> None:
        """Take the part whose kind is a document with a body."""
        if name.endswith(" Override") and values.get("ContentType", "").endswith(_MAIN_KINDS):
            self.name = values.get("PartName", "").removeprefix("/")


class WordBody(_Part):
    """Gathers the paragraphs, and by their codes what of the file is not in them (``seen``)."""

    def __init__(self) -> None:
        super().__init__()
        self.paragraphs: list[str] = []
        self.seen: set[str] = set()
        self._line: list[str] = []
        self._skipping = 0
        self._is_text = False

    def of(self, content: bytes) -> WordBody:
        """Read the main part."""
        self._read(content)
        return self

    def begin(self, name: str, values: dict[str, str]) -> None:
        """Take the breaks, and whatever shows that something is left out."""
        space, _, plain = name.rpartition(" ")
        if self._skipping or plain in _SKIPPED:
            self._skipping += 1
            self.seen.update(filter(None, [_SKIPPED.get(plain, "")]))
            return
        if space not in _WORD:
            return
        if plain in _SIGNS:
            self.seen.add(_SIGNS[plain])
        self._is_text = plain == "t"
        self._line.append(_break(plain, {key.rpartition(" ")[2]: said for key, said in values.items()}))

    def finish(self, name: str) -> None:
        """End what was skipped, or take a whole paragraph."""
        self._is_text = False
        if self._skipping:
            self._skipping -= 1
        elif name in _PARAGRAPH:
            self.paragraphs.append("".join(self._line))
            self._line = []

    def letters(self, letters: str) -> None:
        """Take letters that are text."""
        if self._is_text and not self._skipping:
            self._line.append(letters)


def _break(plain: str, values: dict[str, str]) -> str:
    """Write a tab, a line break, a page break or a hyphen as its letter; nothing for any other element."""
    if plain == "br":
        return PAGE_BREAK if values.get("type") == "page" else "\n"
    if plain == "pageBreakBefore":
        return "" if values.get("val") in _OFF else PAGE_BREAK
    return {"tab": " ", "cr": "\n", "noBreakHyphen": "\u2011"}.get(plain, "")
