"""What must not come in does not, says why, and costs nothing; the worker outlives whatever it is fed."""

from __future__ import annotations

import os
import signal
import struct
import subprocess
import sys
import time
import zlib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
import pyvips
import tifffile

from reviews.imaging.child import sandbox
from reviews.imaging.decode import check, examine, read_rgb
from reviews.imaging.limits import Limits
from reviews.imaging.renditions import make_renditions
from reviews.imaging.results import PictureFacts, Refusal
from reviews.pages.wording.pictures import refusal_sentence
from tests.imaging import fuzzing
from tests.imaging.picture_files import ALLOWED, jpeg_bytes, psd_bytes, quarters, resource, rgb_planes

ROOT = Path(__file__).resolve().parents[2]
FUZZED = int(os.environ.get("ROUGHPROOF_FUZZ", "300"))


def said(found: Refusal) -> str:
    return refusal_sentence(found.code, found.values)


def refused(path: Path, **options: object) -> Refusal:
    found = check(path, **options)  # type: ignore[arg-type]
    assert isinstance(found, Refusal), found
    assert said(found).endswith(".")
    return found


def png_chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png_bomb(width: int, height: int) -> bytes:
    header = png_chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + header + png_chunk(b"IDAT", zlib.compress(bytes(1000))) + png_chunk(b"IEND", b"")


FORBIDDEN: dict[str, bytes] = {
    "GIF": b"GIF89a" + bytes(40), "BMP": b"BM" + bytes(60), "SVG": b'<svg xmlns="http://www.w3.org/2000/svg"/>',
    "JPEG 2000": b"\x00\x00\x00\x0cjP  \r\n\x87\n" + bytes(40), "JPEG XL": b"\xff\x0a" + bytes(40),
    "EPS": b"%!PS-Adobe-3.0 EPSF-3.0\n", "OpenEXR": b"v/1\x01" + bytes(40), "archive": b"PK\x03\x04" + bytes(40),
    "office document": b"\xd0\xcf\x11\xe0" + bytes(600), "film": b"\x00\x00\x00\x18ftypmp42" + bytes(40),
    "sound": b"RIFF\x10\x00\x00\x00WAVEfmt ",
    "camera raw": b"II*\x00\x10\x00\x00\x00CR\x02\x00" + bytes(40), "program": b"\x7fELF" + bytes(60),
}  # fmt: skip


@pytest.mark.parametrize("form", FORBIDDEN)
def test_each_forbidden_kind_is_refused_by_content(form: str, tmp_path: Path) -> None:
    path = tmp_path / "looks-fine.jpg"
    path.write_bytes(FORBIDDEN[form])
    assert refused(path).code == "unsupported-kind"


@pytest.mark.parametrize("loader", ["gifload", "svgload", "csvload", "rawload", "vipsload", "matrixload"])
def test_only_the_listed_loaders_are_open(loader: str, tmp_path: Path) -> None:
    from reviews.imaging import _vips

    path = tmp_path / "a"
    path.write_bytes(b"GIF89a" + bytes(100))
    call = getattr(_vips.Image, loader)
    with pytest.raises(pyvips.Error, match=r"blocked|not found|unknown"):
        call(str(path), 1, 1, 1) if loader == "rawload" else call(str(path))


def test_text_named_as_a_picture_is_refused(tmp_path: Path) -> None:
    (tmp_path / "tansy.jpg").write_text("Tansy dipped the pail and caught the moon.\n", encoding="utf-8")
    found = refused(tmp_path / "tansy.jpg")
    assert found.code == "not-a-picture"
    assert "text" in said(found)


def test_an_empty_file_and_a_folder_and_nothing_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a.png").touch()
    assert refused(tmp_path / "a.png").code == "empty"
    assert refused(tmp_path).code == "not-found"
    assert refused(tmp_path / "no-such").code == "not-found"


# A progressive file cut late, or a PDF whose list of objects can be rebuilt, may still hold its whole picture.
@pytest.mark.parametrize("form", [form for form in ALLOWED if form != "PDF"])
def test_a_file_cut_short_is_refused(form: str, tmp_path: Path) -> None:
    ALLOWED[form][2](tmp_path / "whole")
    data = (tmp_path / "whole").read_bytes()
    (tmp_path / "cut").write_bytes(data[: len(data) // 2])
    assert refused(tmp_path / "cut").code in ("truncated", "damaged")


def test_a_truncated_jpeg_is_said_to_be_cut_short(tmp_path: Path) -> None:
    (tmp_path / "cut.jpg").write_bytes(jpeg_bytes((2000, 1500))[:20_000])
    assert refused(tmp_path / "cut.jpg").code == "truncated"
    assert "cut short" in said(refused(tmp_path / "cut.jpg"))


def test_damage_inside_a_jpeg_is_refused_though_its_header_and_its_end_are_sound(tmp_path: Path) -> None:
    whole = bytearray(jpeg_bytes((1200, 900)))
    scan = whole.index(b"\xff\xda")
    for at in range(scan + 2_000, scan + 2_040):
        whole[at] ^= 0x5A
    assert whole.endswith(b"\xff\xd9")
    (tmp_path / "hurt.jpg").write_bytes(whole)
    assert isinstance(examine(tmp_path / "hurt.jpg"), PictureFacts), "its header says nothing of it"
    assert refused(tmp_path / "hurt.jpg").code == "damaged"
    out = tmp_path / "out"
    out.mkdir()
    assert isinstance(make_renditions(tmp_path / "hurt.jpg", out), Refusal)
    assert isinstance(read_rgb(tmp_path / "hurt.jpg", 300), Refusal)
    # One that was accepted before this was looked for, and is shown, is made again and measured as it was.
    assert not isinstance(make_renditions(tmp_path / "hurt.jpg", out, is_strict=False), Refusal)
    assert not isinstance(read_rgb(tmp_path / "hurt.jpg", 300, is_strict=False), Refusal)


@pytest.mark.parametrize("is_tiled", [False, True])
@pytest.mark.parametrize("compression", ["lzw", "deflate", "jpeg"])
def test_damage_inside_a_tiff_is_refused_though_its_header_is_sound(
    compression: str, is_tiled: bool, tmp_path: Path
) -> None:
    """Of a tile, and of a JPEG in a strip, that cannot be decoded the picture library only warns."""
    path, options = tmp_path / "hurt.tif", {"tile": True, "tile_width": 128, "tile_height": 128} if is_tiled else {}
    grain = np.random.default_rng(3).integers(0, 255, (400, 500, 3)).astype(np.uint8)
    picture = pyvips.Image.new_from_array(grain).copy(interpretation="srgb")
    picture.tiffsave(str(path), compression=compression, Q=90, **options)
    assert isinstance(check(path), PictureFacts)
    with tifffile.TiffFile(path) as file:
        at = file.pages[0].dataoffsets[-1] + 700
    whole = bytearray(path.read_bytes())
    whole[at : at + 40] = b"\xff" * 40
    path.write_bytes(whole)
    assert isinstance(examine(path), PictureFacts), "its header says nothing of it"
    assert refused(path).code in ("damaged", "truncated")
    out = tmp_path / "out"
    out.mkdir()
    assert isinstance(make_renditions(path, out), Refusal)


def test_bytes_left_over_before_the_end_of_a_jpeg_are_no_damage(tmp_path: Path) -> None:
    whole = jpeg_bytes((1200, 900))
    (tmp_path / "camera.jpg").write_bytes(whole[:-2] + bytes(7) + whole[-2:])
    found = check(tmp_path / "camera.jpg")
    assert isinstance(found, PictureFacts) and (found.width_px, found.height_px) == (1200, 900)


@pytest.mark.parametrize("side", [60_000, 0x7FFFFFFF])
def test_a_bomb_is_refused_on_its_header(side: int, tmp_path: Path) -> None:
    (tmp_path / "bomb.png").write_bytes(png_bomb(side, side))
    began = time.monotonic()
    assert refused(tmp_path / "bomb.png").code in ("too-many-pixels", "damaged")
    assert time.monotonic() - began < 5
    if side == 60_000:
        found = refused(tmp_path / "bomb.png")
        assert found.code == "too-many-pixels"
        assert "60000 × 60000" in said(found)


def test_a_bomb_in_a_layered_file_is_refused(tmp_path: Path) -> None:
    data = bytearray(psd_bytes(rgb_planes(), 3))
    data[14:22] = struct.pack(">II", 60_000, 60_000)
    (tmp_path / "bomb.psd").write_bytes(data)
    assert refused(tmp_path / "bomb.psd").code == "too-many-pixels"


def test_a_layered_file_without_a_merged_picture_is_refused(tmp_path: Path) -> None:
    without = resource(1057, struct.pack(">IB", 1, 0) + bytes(20))
    (tmp_path / "a.psd").write_bytes(psd_bytes(rgb_planes(), 3, resources=without))
    assert refused(tmp_path / "a.psd").code == "no-merged-picture"


def test_too_many_bytes_and_pages_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes())
    assert refused(tmp_path / "a.jpg", limits=Limits(max_bytes=1000)).code == "too-large"
    quarters((20, 20)).save(tmp_path / "a.tif", save_all=True, append_images=[quarters((20, 20))] * 3)
    assert refused(tmp_path / "a.tif", limits=Limits(max_pages=3)).code == "too-many-pages"


def test_a_picture_that_takes_too_long_is_ended(tmp_path: Path) -> None:
    path = tmp_path / "wide.png"
    pyvips.Image.black(20_000, 18_000, bands=3).pngsave(str(path), compression=1)
    began = time.monotonic()
    found = make_renditions(path, tmp_path, limits=Limits(wall_seconds=1))
    assert isinstance(found, Refusal)
    assert found.code == "took-too-long"
    assert time.monotonic() - began < 10


def test_a_picture_that_needs_too_much_memory_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "interlaced.png"
    pyvips.Image.black(6000, 6000, bands=3).pngsave(str(path), compression=1, interlace=True)
    assert refused(path, limits=Limits(memory_bytes=150 << 20)).code == "too-much-memory"
    assert isinstance(check(path), PictureFacts)


@pytest.mark.parametrize(
    ("number", "code"),
    [
        (signal.SIGSEGV, "damaged"),
        (signal.SIGABRT, "damaged"),
        (signal.SIGKILL, "too-much-memory"),
        (0, "too-much-memory"),
    ],
)
def test_the_way_a_child_died_becomes_a_sentence(number: int, code: str) -> None:
    found = sandbox._verdict(None, {"event": "ended", "signal": int(number)})
    assert isinstance(found, Refusal)
    assert found.code == code


@pytest.mark.slow
def test_the_door_opens_again_after_its_process_was_killed(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes())
    assert isinstance(examine(tmp_path / "a.jpg"), PictureFacts)
    process = sandbox._FORK_SERVER._process
    assert process is not None
    process.kill()
    process.wait()
    assert isinstance(examine(tmp_path / "a.jpg"), PictureFacts)


def test_nothing_stays_behind_when_the_worker_is_killed(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes())
    dying = (
        "import os, pathlib, signal; from reviews.imaging import decode; from reviews.imaging.child import sandbox;"
        f"decode.examine(pathlib.Path({str(tmp_path / 'a.jpg')!r}));"
        "print(sandbox._FORK_SERVER._process.pid, flush=True); os.kill(os.getpid(), signal.SIGKILL)"
    )
    worker = subprocess.run([sys.executable, "-c", dying], capture_output=True, text=True, cwd=ROOT, check=False)
    assert worker.returncode == -signal.SIGKILL
    nursery = Path(f"/proc/{int(worker.stdout)}/cmdline")
    deadline = time.monotonic() + 20
    while nursery.exists() and b"fork_server" in nursery.read_bytes() and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not (nursery.exists() and b"fork_server" in nursery.read_bytes())


def test_the_child_knows_no_secret_of_the_portal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SECRET_KEY", "moon-in-the-pail")
    sandbox._FORK_SERVER.close()
    (tmp_path / "a.jpg").write_bytes(jpeg_bytes())
    examine(tmp_path / "a.jpg")
    process = sandbox._FORK_SERVER._process
    assert process is not None
    known = Path(f"/proc/{process.pid}/environ").read_bytes()
    assert b"PYTHONPATH" in known
    assert b"moon-in-the-pail" not in known


def test_many_are_judged_at_once_without_mixing_up(tmp_path: Path) -> None:
    paths = []
    for n in range(24):
        path = tmp_path / str(n)
        path.write_bytes(jpeg_bytes((64 + n, 48)) if n % 3 else b"")
        paths.append(path)
    with ThreadPoolExecutor(8) as together:
        found = list(together.map(check, paths))
    for n, verdict in enumerate(found):
        assert verdict.width_px == 64 + n if isinstance(verdict, PictureFacts) else n % 3 == 0


def test_a_refused_picture_leaves_no_renditions(tmp_path: Path) -> None:
    (tmp_path / "cut.png").write_bytes(png_bomb(300, 300))
    out = tmp_path / "out"
    out.mkdir()
    assert isinstance(make_renditions(tmp_path / "cut.png", out), Refusal)
    assert list(out.iterdir()) == []


def test_damaged_files_always_get_a_verdict(tmp_path: Path) -> None:
    counted, slowest = fuzzing.feed(FUZZED, 7, tmp_path)
    assert counted.total() == FUZZED
    assert slowest < fuzzing.LIMITS.wall_seconds
    # Damage must be seen, and must not be seen everywhere: else the mutants show nothing.
    accepted = sum(n for code, n in counted.items() if code.startswith("accepted"))
    assert FUZZED // 10 < accepted < FUZZED * 9 // 10
