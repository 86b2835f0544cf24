"""An AVIF whose one picture is stored as a grid of cells, written by its boxes (ISO/IEC 23008-12, from memory)."""

from __future__ import annotations

import io
import struct

from PIL import Image


def _box(kind: bytes, *parts: bytes) -> bytes:
    content = b"".join(parts)
    return struct.pack(">I4s", len(content) + 8, kind) + content


def _full(kind: bytes, version: int, flags: int, *parts: bytes) -> bytes:
    return _box(kind, struct.pack(">I", (version << 24) | flags), *parts)


def _found(data: bytes, kinds: tuple[bytes, ...]) -> dict[bytes, bytes]:
    """Give the boxes of these kinds of a plain AVIF, whole."""
    out: dict[bytes, bytes] = {}

    def walk(at: int, end: int) -> None:
        while at + 8 <= end:
            length, kind = struct.unpack_from(">I4s", data, at)
            if kind in kinds:
                out[kind] = data[at : at + length]
            inner = {b"meta": 12, b"iprp": 8, b"ipco": 8}.get(kind)
            if inner:
                walk(at + inner, at + length)
            at += length

    walk(0, len(data))
    return out


def _cell(picture: Image.Image) -> dict[bytes, bytes]:
    held = io.BytesIO()
    picture.save(held, "AVIF", quality=95, subsampling="4:4:4")
    return _found(held.getvalue(), (b"mdat", b"pixi", b"av1C", b"colr"))


def avif_grid(
    picture: Image.Image, rows: int, columns: int, *, whole_last: bool = False, is_hidden: bool = False
) -> bytes:
    """Store a picture as so many cells; its item comes before them or after, and they may be marked as hidden."""
    width, height = picture.size
    w, h = width // columns, height // rows
    cells = [_cell(picture.crop((c * w, r * h, c * w + w, r * h + h))) for r in range(rows) for c in range(columns)]
    whole = len(cells) + 1 if whole_last else 1
    ids = [n for n in range(1, len(cells) + 2) if n != whole]
    described = struct.pack(">BBBBHH", 0, 0, rows - 1, columns - 1, width, height)
    parts = [(whole, described), *((n, cell[b"mdat"][8:]) for n, cell in zip(ids, cells, strict=True))]
    sizes = [_full(b"ispe", 0, 0, struct.pack(">II", *size)) for size in ((w, h), (width, height))]
    shared = _box(b"ipco", *sizes, cells[0][b"pixi"], cells[0][b"av1C"], cells[0][b"colr"])
    everything = sorted([whole, *ids])
    uses = {n: bytes((2, 3, 5)) if n == whole else bytes((1, 3, 0x84, 5)) for n in everything}
    used = b"".join(struct.pack(">HB", n, len(uses[n])) + uses[n] for n in everything)
    entries = [
        _full(
            b"infe",
            2,
            int(is_hidden and n != whole),
            struct.pack(">HH", n, 0),
            b"grid" if n == whole else b"av01",
            b"\0",
        )
        for n in everything
    ]
    made_of = _box(b"dimg", struct.pack(f">HH{len(ids)}H", whole, len(ids), *ids))

    def meta(at: int) -> bytes:
        places = b""
        for n, data in parts:
            places += struct.pack(">HHHII", n, 0, 1, at, len(data))
            at += len(data)
        return _full(
            b"meta",
            0,
            0,
            _full(b"hdlr", 0, 0, struct.pack(">I4s12s", 0, b"pict", b""), b"\0"),
            _full(b"pitm", 0, 0, struct.pack(">H", whole)),
            _full(b"iloc", 0, 0, bytes((0x44, 0)), struct.pack(">H", len(parts)), places),
            _full(b"iinf", 0, 0, struct.pack(">H", len(entries)), *entries),
            _full(b"iref", 0, 0, made_of),
            _box(b"iprp", shared, _full(b"ipma", 0, 0, struct.pack(">I", len(everything)), used)),
        )

    head = _box(b"ftyp", b"avif", bytes(4), b"avif", b"mif1", b"miaf")
    begins = len(head) + len(meta(0)) + 8
    return head + meta(begins) + _box(b"mdat", *(data for _, data in parts))
