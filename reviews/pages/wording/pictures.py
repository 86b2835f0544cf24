"""Why a file was not taken, and what its colours are taken for, in words for the person who sent it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext, gettext_lazy, ngettext

from reviews.models import Picture
from reviews.pages.wording.coded import AS_TOLD, Sentence, Values, said
from reviews.pages.wording.tiff_storage import stored_sentence

_SEND_INSTEAD = gettext_lazy("Send a JPEG, PNG, TIFF, PSD, WebP, AVIF, HEIC or PDF instead.")
_KINDS: dict[str, Any] = {
    "gif": gettext_lazy("a GIF"),
    "bmp": gettext_lazy("a BMP"),
    "icon": gettext_lazy("an icon file"),
    "jpeg-2000": gettext_lazy("a JPEG 2000 picture"),
    "jpeg-xl": gettext_lazy("a JPEG XL picture"),
    "openexr": gettext_lazy("an OpenEXR picture"),
    "postscript": gettext_lazy("a PostScript or EPS file"),
    "eps": gettext_lazy("an EPS file"),
    "archive-or-working-file": gettext_lazy("an archive or a program's own working file"),
    "empty-archive": gettext_lazy("an empty archive"),
    "compressed": gettext_lazy("a compressed file"),
    "archive": gettext_lazy("an archive"),
    "office": gettext_lazy("an office document"),
    "text-document": gettext_lazy("a text document"),
    "sound": gettext_lazy("a sound file"),
    "sound-or-film": gettext_lazy("a sound or film file"),
    "film": gettext_lazy("a film"),
    "film-or-raw": gettext_lazy("a film or a camera's raw file"),
    "raw": gettext_lazy("a camera's raw file"),
    "program": gettext_lazy("a program"),
    "svg": gettext_lazy("an SVG drawing"),
    "web-page": gettext_lazy("a web page or XML file"),
}
_PENCILS: dict[str, Any] = {
    "": gettext_lazy("orange, red or blue"),
    "orange": gettext_lazy("orange"),
    "red": gettext_lazy("red"),
    "blue": gettext_lazy("blue"),
}


def _unsupported(values: Values) -> str:
    what = _KINDS.get(values.get("what", ""), gettext("another kind of file"))
    return gettext("This is {what}, which cannot be opened here. {instead}").format(what=what, instead=_SEND_INSTEAD)


def _not_a_picture(values: Values) -> str:
    known = gettext("This file is not a picture of any kind known here. {instead}")
    return known.format(instead=_SEND_INSTEAD)


def _text_file(values: Values) -> str:
    return gettext("This is a text file, whatever its name says. {instead}").format(instead=_SEND_INSTEAD)


def _too_large(values: Values) -> str:
    return gettext(
        "This file has {mb:.0f} MB; at most {most_mb:.0f} MB are taken. Flatten its layers or compress it, and send it "
        "again."
    ).format(mb=values["n_bytes"] / 1e6, most_mb=values["most_bytes"] / 1e6)


def _too_many_in_all(values: Values) -> str:
    million = values["width_px"] * values["height_px"] // 1_000_000
    return gettext(
        "This picture is {width_px} × {height_px} pixels, {million} million in all; at most {most_million} million are "
        "taken. Reduce it and send it again."
    ).format(million=million, most_million=values["most_px"] // 1_000_000, **values)


def _fewer_pages(values: Values) -> str:
    return ngettext(
        "This PDF has {n_pages} page; there is no page {page}.",
        "This PDF has {n_pages} pages; there is no page {page}.",
        values["n_pages"],
    ).format(**values)


def _too_large_together(values: Values) -> str:
    inner = {key: value for key, value in values.items() if key != "because"}
    because = refusal_sentence(values["because"], inner) if "because" in values else ""
    return f"{gettext('Joined, the sheets would be too large.')} {because}".rstrip()


def _no_pencil(values: Values) -> str:
    found_none = gettext(
        "No {pencil} under-drawing was found in this scan, so there is nothing to take out. Check that it was scanned "
        "in colour."
    ).format(pencil=_PENCILS[values["pencil"]])
    if not values.get("may_be_faint"):
        return found_none
    fainter = gettext(
        "If it is faint, say which pencil it was or point at a stroke of it: fainter strokes are looked for then."
    )
    return f"{found_none} {fainter}"


def _no_ink(values: Values) -> str:
    if values["pencil"] == "pointed":
        return gettext(
            "Only the pencil that was pointed at was found in this scan and no black ink over it: nothing would be "
            "left. Choose the scan that has the ink."
        )
    return gettext(
        "Only {pencil} pencil was found in this scan and no black ink over it: nothing would be left. Choose the scan "
        "that has the ink."
    ).format(pencil=_PENCILS[values["pencil"]])


def _different_sizes(values: Values) -> str:
    return gettext(
        "The drawing is {times:.1f} times as large on {larger} as on {smaller}. Scan all sheets at the same "
        "resolution, then join them."
    ).format(times=values["times"], larger=_sheet(values["larger"]), smaller=_sheet(values["smaller"]))


def _no_overlap(values: Values) -> str:
    apart: Sequence[str | int] = values["sheets"]
    return gettext(
        "No certain overlap was found for {sheets}. Scan the parts again so that each shares at least two "
        "centimetres of drawing with its neighbour, all at the same resolution."
    ).format(sheets=gettext(" and ").join(_sheet(sheet) for sheet in apart))


def _sheet(called: str | int) -> str:
    return gettext("sheet {n}").format(n=called) if isinstance(called, int) else called


# A code alone, or with the cause that tells it apart from others of its code.
_REFUSALS: dict[str, Sentence] = {
    "not-found": gettext_lazy("There is no file here that can be read. Check its name and that you may read it."),
    "empty": gettext_lazy("This file is empty: it has 0 bytes. Export the picture again and send the new file."),
    "not-a-picture": _not_a_picture,
    "not-a-picture, text": _text_file,
    "unsupported-kind": _unsupported,
    "unsupported-kind, pixels": gettext_lazy(
        "This {kind} stores its pixels in a way that cannot be read here. Save it as a TIFF (LZW) or a JPEG and "
        "send that."
    ),
    "unsupported-kind, stored": stored_sentence,
    "unsupported-kind, merged-picture": gettext_lazy(
        "The merged picture in this layered file is stored in a way that cannot be read here. Export a TIFF and send "
        "that."
    ),
    "no-merged-picture": gettext_lazy(
        "This layered file was saved without a merged picture, so there is nothing to show. Save it again with the "
        "option for greatest compatibility switched on, or export a TIFF."
    ),
    "too-large": _too_large,
    "too-many-pixels, side": gettext_lazy(
        "This picture is {width_px} × {height_px} pixels; no side may be longer than {most_px} pixels. "
        "Reduce it and send it again."
    ),
    "too-many-pixels, area": _too_many_in_all,
    "too-many-pages": gettext_lazy(
        "This file has {n_pages} pages; at most {most} are taken. Send the page that is meant as its own file."
    ),
    "no-such-page, single-picture": gettext_lazy("This {kind} is a single picture; there is no page {page} in it."),
    "no-such-page, container": gettext_lazy(
        "There is no picture {page} in this HEIC file. Choose one it has, or send a JPEG."
    ),
    "no-such-page, fewer-pages": _fewer_pages,
    "truncated": gettext_lazy("This {kind} is cut short: it ends before the picture does. Export or upload it again."),
    "damaged": gettext_lazy(
        "This {kind} is damaged and cannot be read to its end. Export it again and send the new file."
    ),
    "damaged, no-size": gettext_lazy(
        "This file says its picture has no width or height. Save it again and send the new file."
    ),
    "damaged, not-opened": gettext_lazy(
        "This {kind} is damaged and cannot be opened. Export it again and send the new file."
    ),
    "damaged, stops-the-reader": gettext_lazy(
        "This file is damaged in a way that stops the reader. Open it in your drawing program, save it again and send "
        "the new file."
    ),
    "locked": gettext_lazy("This {kind} is locked with a password. Export it again without one and send the new file."),
    "took-too-long": gettext_lazy(
        "Opening this picture took longer than any picture may. Save it again without layers or at a smaller size, "
        "and send that."
    ),
    "too-much-memory": gettext_lazy(
        "Opening this picture needs more memory than one picture may use. Save it as a TIFF or a plain (not "
        "progressive, not interlaced) JPEG or PNG, and send that."
    ),
    "unreadable": gettext_lazy(
        "This file could not be read here although it may be sound: our reader failed on it. Save it as a TIFF or a "
        "JPEG and send that."
    ),
    "sheet-too-large": gettext_lazy(
        "It is {width_px} × {height_px} pixels; a sheet may have {most_px} a side here. Scan it at a lower resolution."
    ),
    "too-large-together": _too_large_together,
    "one-sheet": gettext_lazy("There is only one sheet; joining needs two or more that overlap."),
    "different-sizes": _different_sizes,
    "no-overlap": _no_overlap,
    "not-a-scan": gettext_lazy(
        "This does not look like a scan of ink on paper: most of it is painted, and taking a colour out would take "
        "the picture with it. Choose a scan of black ink over a coloured pencil."
    ),
    "no-pencil": _no_pencil,
    "no-ink": _no_ink,
    "points-at-paper": gettext_lazy(
        "There is only paper where you pointed, or a stroke too faint to be told from it. Point at the middle of a "
        "stroke, where it is strongest."
    ),
    "points-at-ink": gettext_lazy(
        "Where you pointed lies ink or grey pencil, which cannot be told apart. Point at a coloured stroke, where no "
        "ink lies over it."
    ),
}
_ASSUMED: dict[str, Any] = {
    "rgb": gettext_lazy(
        "The file carries no colour profile; its colours are shown as sRGB, which may not be what was meant."
    ),
    "grey": gettext_lazy("The file carries no grey profile; its greys are shown on the sRGB tone scale."),
    "cmyk": gettext_lazy(
        "The file carries no CMYK profile; it is shown by the picture library’s built-in one, which calls itself "
        "“Chemical proof” and stands for no press. Its colours are indicative only."
    ),
    "rgb-misfit": gettext_lazy(
        "The colour profile inside the file does not fit its colours and was left aside. Its colours are shown as "
        "sRGB, which may not be what was meant."
    ),
    "grey-misfit": gettext_lazy(
        "The colour profile inside the file does not fit its colours and was left aside. Its greys are shown on the "
        "sRGB tone scale."
    ),
    "cmyk-misfit": gettext_lazy(
        "The colour profile inside the file does not fit its colours and was left aside. It is shown by the "
        "picture library’s built-in CMYK profile, which calls itself “Chemical proof” and stands for no press. Its "
        "colours are indicative only."
    ),
    "stated": gettext_lazy(
        "The file carries no colour profile, but states its gamma and primaries; its colours are shown by these."
    ),
    "floating": gettext_lazy(
        "Its colours are floating-point numbers without a profile. They are shown as linear light with 0 as black and "
        "1 as white; what lies beyond is cut off."
    ),
    "floating-profile": gettext_lazy(
        "Its colours are floating-point numbers. They are shown by the file's own profile with 0 as black and 1 as "
        "white; what lies beyond is cut off."
    ),
    "signed": gettext_lazy(
        "Its colours are whole numbers with a sign and have no profile. They are read from 0, or where any of them is "
        "below 0 from the smallest that can be stored, up to the largest; what was meant may be another."
    ),
    "signed-profile": gettext_lazy(
        "Its colours are whole numbers with a sign. They are read by the file’s own profile from 0, or where any of "
        "them is below 0 from the smallest that can be stored, up to the largest; what was meant may be another."
    ),
    "pdf": gettext_lazy(
        "Drawn from the PDF page at {ppi:.0f} ppi; its colours are shown as sRGB and are indicative only."
    ),
}


def refusal_sentence(code: str, values: Mapping[str, Any]) -> str:
    """Say why a file was not taken and what to do; nothing where there is no code.

    Where several sheets were opened, the one at fault is named first.
    """
    if not code:
        return ""
    how = values.get("how") if code != AS_TOLD else None
    sentence = said(_REFUSALS, f"{code}, {how}" if how and code != "too-large-together" else code, values)
    if "sheet" not in values:
        return sentence
    return gettext("Sheet {n} ({name}): {sentence}").format(
        n=values["sheet"], name=values["sheet_name"], sentence=sentence
    )


def picture_reason(picture: Picture) -> str:
    """Say why a picture could not be read; nothing where it could."""
    return refusal_sentence(picture.reason_code, picture.reason_values)


def assumed_words(facts: Mapping[str, Any]) -> str | None:
    """Say what the colours of a picture are taken for, and what stands under what is clear in it, from its facts.

    None where its own profile was used and nothing in it is clear.
    """
    told = []
    assumed = facts.get("assumed_profile")
    if isinstance(assumed, Mapping):  # kept as it was once told
        told.append(str(assumed["words"]))
    elif assumed:
        told.append(said(_ASSUMED, assumed, {"ppi": facts.get("ppi_x") or 0}))
    if str(facts.get("mode", "")).endswith("A"):
        told.append(gettext("What is transparent in it is shown over white."))
    return " ".join(told) or None


def plate_name(plate: Mapping[str, Any], number: int) -> str:
    """Name a spot plate as its file does, or by its number; and say it where the file calls it a mask."""
    name = plate["name"] or gettext("Plate {n}").format(n=number)
    return gettext("{name} (a mask)").format(name=name) if plate["is_spot"] is False else name
