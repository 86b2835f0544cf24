"""Word processors' files for tests, part by part: as programs write them, and as nobody should."""

from __future__ import annotations

import io
import zipfile

MAIN_KIND = "application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml"
_W = 'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"'
_MORE = 'xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006"'


def a_paragraph(words: str) -> str:
    return f'<w:p><w:r><w:t xml:space="preserve">{words}</w:t></w:r></w:p>' if words else "<w:p/>"


def a_body(inside: str, *, head: str = "") -> str:
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{head}<w:document {_W} {_MORE}><w:body>{inside}</w:body></w:document>'
    )


def a_docx(*paragraphs: str) -> bytes:
    return packed(a_body("".join(map(a_paragraph, paragraphs))))


def packed(
    body: str | bytes,
    *,
    name: str = "word/document.xml",
    kind: str = MAIN_KIND,
    how: int = zipfile.ZIP_DEFLATED,
    **more: str,
) -> bytes:
    """Pack a main part with its list of parts; ``more`` are others by name."""
    kinds = (
        '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        f'<Override PartName="/{name}" ContentType="{kind}"/></Types>'
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", how) as parts:
        for part, content in ({"[Content_Types].xml": kinds} | {name: body}).items():
            parts.writestr(part, content)
        for other, content in more.items():
            parts.writestr(other, content)
    return out.getvalue()
