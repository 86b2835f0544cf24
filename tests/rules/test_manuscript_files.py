"""Files with a manuscript: what is read of them, and what hostile ones come to."""

from __future__ import annotations

import struct
import zipfile

import pytest

from reviews.rules.manuscript import MOST_BYTES, text_of
from reviews.rules.manuscript.files import MOST_PARTS, MOST_UNPACKED
from reviews.rules.manuscript.word_parts import MOST_ELEMENTS, MOST_TAG_BYTES
from reviews.rules.states import Refused
from tests.word_files import MAIN_KIND, a_body, a_docx, a_paragraph, packed

WORDS = "Hush, said the tarn – naïve “moon”."


def codes(read) -> list[str]:
    return [one.code for one in read.remarks]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-32", "cp1252"])
def test_plain_text_is_read_in_each_encoding_and_a_guess_is_told(encoding):
    read = text_of(WORDS.encode(encoding))
    assert read.text == WORDS
    assert codes(read) == (["guessed-encoding"] if encoding == "cp1252" else [])


def test_paragraphs_and_breaks_of_a_docx_are_read():
    body = a_body(
        a_paragraph("Page 4")
        + "<w:p><w:r><w:t>Over the tarn</w:t><w:br/><w:t>and</w:t><w:tab/><w:t>ba</w:t></w:r>"
        + "<w:r><w:t>ck &amp; on</w:t></w:r></w:p>"
        + '<w:p><w:r><w:br w:type="page"/></w:r></w:p>'
        + "<w:p><w:pPr><w:pageBreakBefore/></w:pPr><w:r><w:t>Half</w:t><w:noBreakHyphen/><w:t>moon</w:t></w:r></w:p>"
    )
    read = text_of(packed(body))
    assert read.text == "Page 4\nOver the tarn\nand back & on\n\f\n\fHalf\u2011moon" and codes(read) == []


def test_paragraphs_stand_apart_where_no_empty_ones_part_them():
    assert text_of(a_docx("One.", "Two.")).text == "One.\n\nTwo."
    assert text_of(a_docx("One,", "two.", "", "Three.")).text == "One,\ntwo.\n\nThree."


def test_the_main_part_goes_by_its_kind_and_not_by_its_name():
    strict = a_body(a_paragraph(WORDS)).replace(
        "http://schemas.openxmlformats.org/wordprocessingml/2006/main",
        "http://purl.oclc.org/ooxml/wordprocessingml/main",
    )
    assert text_of(packed(strict, name="word/document2.xml")).text == WORDS


def test_what_is_struck_out_boxed_or_beside_the_text_is_left_and_told():
    body = a_body(
        "<w:p><w:ins><w:r><w:t>In.</w:t></w:r></w:ins><w:del><w:r><w:delText>Out.</w:delText><w:t>Out.</w:t></w:r></w:del>"
        "<w:r><w:footnoteReference/><w:commentReference/></w:r>"
        "<mc:AlternateContent><mc:Fallback><w:p><w:r><w:t>Twice.</w:t></w:r></w:p></mc:Fallback></mc:AlternateContent>"
        "<w:txbxContent><w:p><w:r><w:t>Boxed.</w:t></w:r></w:p></w:txbxContent></w:p>"
    )
    read = text_of(packed(body))
    assert read.text == "In." and codes(read) == ["boxes", "comments", "notes", "tracked"]


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "manuscript-empty"),
        (b"\0\0\0 \n", "manuscript-empty"),
        (b"%PDF-1.7 and so on", "manuscript-kind"),
        (b"{\\rtf1 Hush.}", "manuscript-kind"),
        (b"\x89PNG\r\n", "manuscript-kind"),
        ("Hush".encode("utf-16-le"), "manuscript-kind"),
        (b"\xff\xfeH", "manuscript-kind"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 old", "manuscript-old-format"),
        (b"PK\x03\x04 and no more", "manuscript-broken"),
        (b"x" * (MOST_BYTES + 1), "manuscript-file-too-large"),
        (packed("<a/>", kind="application/vnd.oasis.opendocument.text"), "manuscript-kind"),
        (packed("<w:document>"), "manuscript-broken"),
        (packed(a_body("<w:p>" * 300 + "</w:p>" * 300)), "manuscript-too-packed"),
        (packed(a_body(a_paragraph(WORDS)), how=zipfile.ZIP_LZMA), "manuscript-broken"),
    ],
)
def test_what_is_no_manuscript_is_refused_with_its_reason(data, code):
    with pytest.raises(Refused, match=f"^{code}"):
        text_of(data)


def test_a_bomb_is_read_no_further_than_its_bound():
    bomb = packed(a_body(a_paragraph("o" * (MOST_UNPACKED + 1))))
    assert len(bomb) < MOST_BYTES
    with pytest.raises(Refused, match="manuscript-too-packed"):
        text_of(bomb)


def test_a_bomb_that_lies_about_its_size_is_no_better():
    bomb = packed(a_body(a_paragraph("o" * (MOST_UNPACKED + 1))))
    real = len(a_body(a_paragraph("o" * (MOST_UNPACKED + 1))))
    lying = bomb.replace(struct.pack("<L", real), struct.pack("<L", 900))
    assert lying != bomb
    # The zip reader stops at the size that is told: what it gives is cut off, and no document.
    with pytest.raises(Refused, match="manuscript-broken"):
        text_of(lying)


@pytest.mark.parametrize(
    "inside",
    ["<w:a/>" * (MOST_ELEMENTS + 1), "<w:p " + " ".join(f"a{n}='1'" for n in range(MOST_TAG_BYTES // 4)) + "/>"],
    ids=["elements", "one tag"],
)
def test_what_packs_small_and_takes_long_is_read_no_further_than_its_bound(inside):
    slow = packed(a_body(inside))
    assert len(a_body(inside)) < MOST_UNPACKED
    with pytest.raises(Refused, match="manuscript-too-packed"):
        text_of(slow)


def test_a_long_paragraph_is_no_long_tag():
    words = "Hush. " * (MOST_TAG_BYTES // 2)
    assert text_of(a_docx(words)).text == words


def _with(mark: bytes, at: int, value: int) -> bytes:
    """Give a file with one byte of every record of a kind changed."""
    data = bytearray(a_docx(WORDS))
    place = data.find(mark)
    while place >= 0:
        data[place + at] = value
        place = data.find(mark, place + 4)
    return bytes(data)


def _far_beyond() -> bytes:
    """Give a file whose first part lies, by its 64-bit field, where no file reaches."""
    data = bytearray(a_docx(WORDS))
    entry, end = data.find(b"PK\x01\x02"), data.find(b"PK\x05\x06")
    far = struct.pack("<HHQ", 1, 8, 2**64 - 1)
    data[end + 12 : end + 16] = struct.pack("<L", struct.unpack_from("<L", data, end + 12)[0] + len(far))
    data[entry + 42 : entry + 46], data[entry + 30 : entry + 32] = b"\xff" * 4, struct.pack("<H", len(far))
    after_name = entry + 46 + struct.unpack_from("<H", data, entry + 28)[0]
    data[after_name:after_name] = far
    return bytes(data)


@pytest.mark.parametrize(
    "data",
    [
        packed(a_body(a_paragraph(WORDS)).replace("UTF-8", "no-such-encoding")),
        packed(a_body(a_paragraph(WORDS)).replace("UTF-8", "hex")),
        _with(b"PK\x01\x02", 6, 99),
        _with(b"PK\x01\x02", 8, 1 << 5),
        _with(b"PK\x01\x02", 8, 1 << 6),
        _far_beyond(),
    ],
    ids=["encoding", "no letters", "newer zip", "patched", "strong lock", "beyond any file"],
)
def test_what_no_reader_knows_is_refused_and_never_fails(data):
    with pytest.raises(Refused, match="manuscript-broken"):
        text_of(data)


def test_too_many_parts_are_refused_before_any_is_read():
    many = packed(a_body(a_paragraph(WORDS)), **{f"word/{n}.xml": "" for n in range(MOST_PARTS)})
    with pytest.raises(Refused, match="manuscript-too-packed"):
        text_of(many)


@pytest.mark.parametrize(
    "head",
    [
        '<!DOCTYPE d [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>',
        '<!DOCTYPE d [<!ENTITY x SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE d SYSTEM "http://elsewhere.example/d.dtd">',
    ],
)
@pytest.mark.parametrize("part", ["body", "kinds"])
def test_entities_of_its_own_are_refused_in_every_part_that_is_read(head, part):
    if part == "body":
        data = packed(a_body(a_paragraph("&b;"), head=head))
    else:
        data = packed(f'<?xml version="1.0"?>{head}<Types/>', name="[Content_Types].xml", kind=MAIN_KIND)
    with pytest.raises(Refused, match="manuscript-entities"):
        text_of(data)


def test_a_part_under_a_password_is_refused():
    data = bytearray(a_docx(WORDS))
    for mark, at in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        place = data.find(mark)
        while place >= 0:
            data[place + at] |= 1
            place = data.find(mark, place + 4)
    with pytest.raises(Refused, match="manuscript-locked"):
        text_of(bytes(data))
