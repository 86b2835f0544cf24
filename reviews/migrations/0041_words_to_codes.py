"""Sentences that were stored become codes with values; what is not recognised is kept word for word, as told.

The sentences stand here as they were written at the time, so that this step does the same for ever.
"""

import re

from django.db import migrations

N = r"(\d+)"
X = r"(\d+(?:\.\d+)?)"
WORD = r"(\S+)"
ANY = r"(.+?)"


def _pattern(sentence, **parts):
    """Make a pattern of a sentence in which {name} stands for a part."""
    pattern = re.escape(sentence)
    for name, part in parts.items():
        pattern = pattern.replace(re.escape("{" + name + "}"), "(?P<" + name + ">" + part[1:], 1)
    return re.compile(pattern + r"\Z", re.DOTALL)


def _read(text):
    """Read a part of a sentence as the number it is, where it is one."""
    if re.fullmatch(r"\d+", text):
        return int(text)
    return float(text) if re.fullmatch(r"\d+\.\d+", text) else text


def _entry(code, sentence, parts=None, **fixed):
    return code, _pattern(sentence, **(parts or {})), fixed


def _recognised(table, sentence):
    """Give the code of a sentence and its values, or None."""
    for code, pattern, fixed in table:
        match = pattern.match(sentence)
        if match:
            return code, {**fixed, **{name: _read(text) for name, text in match.groupdict().items()}}
    return None


def coded(table, sentence):
    """Turn a sentence into one object that holds its code and its values."""
    found = _recognised(table, sentence)
    return {"code": found[0], **found[1]} if found else {"code": "as-told", "words": sentence}


REMARKS = [
    _entry(
        "not-aligned",
        "The two pictures could not be laid on each other with any certainty, so they are shown side by side.",
    ),
    _entry(
        "two-readings",
        "Two readings are possible: the whole page was moved, or its largest figure was. Look at both before you rely on what is marked.",
    ),
    _entry(
        "check", "The pictures were laid on each other, but not surely. Check with the two faded over each other first."
    ),
    _entry(
        "redrawn-freely",
        "Redrawn freely (about {redraw_mm} mm from line to line): moves under {least_move_mm} mm are not shown.",
        {"redraw_mm": X, "least_move_mm": X},
    ),
    _entry("nothing-moved", "Nothing moved more than 1 mm.", at_most_mm=1.0),
    _entry("no-change", "No change was found."),
    _entry("n-places", "{n} place to look at, heaviest first.", {"n": N}),
    _entry("n-places", "{n} places to look at, heaviest first.", {"n": N}),
    _entry(
        "touch-rates",
        "On test drawings {changed_as_changed} in 100 changed places were called changed and {changed_as_unchanged} in 100 unchanged; of the unchanged places {unchanged_as_changed} in 100 was called changed.",
        {"changed_as_changed": N, "changed_as_unchanged": N, "unchanged_as_changed": N},
    ),
]
STEPS = [
    _entry("reading-sheet", "Reading {name}", {"name": ANY}),
    _entry("looking-for-shared", "Looking for what the sheets share"),
    _entry("compared-sheets", "Compared sheet {one} with sheet {two}", {"one": N, "two": N}),
    _entry("laying-sheets", "Laying the sheets over each other"),
    _entry("writing-joined", "Writing the joined picture"),
    _entry("looking-for-pencil", "Looking for the pencil"),
    _entry("taking-pencil-out", "Taking the pencil out"),
    _entry("writing-ink", "Writing the ink alone"),
]
AWAY = {
    "database": "The database does not answer now.",
    "store": "The store of the pictures does not answer now.",
    "broker": "The hand-over between our own processes does not answer now.",
    "mail": "The mail server does not take mail now.",
    "room": "There is no room on the disk now.",
    "files": "A file or a machine that this needs cannot be reached now.",
}
ERRORS = [
    _entry("trying-again", "This did not work yet and will be tried again."),
    _entry(
        "gave-up",
        "This failed {n} times and was given up. An administrator finds the reason in the worker's log.",
        {"n": N},
    ),
    _entry(
        "worn-out",
        "The worker stopped {n} times in the middle of this. An administrator finds the reason in its log.",
        {"n": N},
    ),
    *(
        _entry("is-away", f"{words} This did not work yet and will be tried again.", what=what)
        for what, words in AWAY.items()
    ),
    *(
        _entry(
            "stayed-away",
            f"{words} It was tried for three days and then given up; nothing is wrong with what you sent.",
            what=what,
        )
        for what, words in AWAY.items()
    ),
    _entry("mail-refused", "The mail server refused this mail for good: “{words}”. Check the address.", {"words": ANY}),
    _entry("no-stamp-service", "No time stamp service is configured any more."),
    _entry(
        "unknown-kind",
        "This Roughproof does not know how to do “{kind}”; a newer one may have asked for it.",
        {"kind": ANY},
    ),
]
INSTEAD = " Send a JPEG, PNG, TIFF, PSD, WebP, AVIF, HEIC or PDF instead."
KINDS = {
    "a GIF": "gif",
    "a BMP": "bmp",
    "an icon file": "icon",
    "a JPEG 2000 picture": "jpeg-2000",
    "a JPEG XL picture": "jpeg-xl",
    "an OpenEXR picture": "openexr",
    "a PostScript or EPS file": "postscript",
    "an EPS file": "eps",
    "an archive or a program's own working file": "archive-or-working-file",
    "an empty archive": "empty-archive",
    "a compressed file": "compressed",
    "an archive": "archive",
    "an office document": "office",
    "a text document": "text-document",
    "a sound file": "sound",
    "a sound or film file": "sound-or-film",
    "a film": "film",
    "a film or a camera's raw file": "film-or-raw",
    "a camera's raw file": "raw",
    "a program": "program",
    "an SVG drawing": "svg",
    "a web page or XML file": "web-page",
}
PENCIL = r"(orange|red|blue)"
SIZE = {"width_px": N, "height_px": N}
REFUSALS = [
    _entry("not-found", "There is no file here that can be read. Check its name and that you may read it."),
    _entry("empty", "This file is empty: it has 0 bytes. Export the picture again and send the new file."),
    _entry("not-a-picture", "This is a text file, whatever its name says." + INSTEAD, how="text"),
    _entry("not-a-picture", "This file is not a picture of any kind known here." + INSTEAD),
    *(
        _entry("unsupported-kind", f"This is {words}, which cannot be opened here." + INSTEAD, what=what)
        for words, what in KINDS.items()
    ),
    _entry(
        "unsupported-kind",
        "This {kind} stores its pixels in a way that cannot be read here. Save it as a TIFF (LZW) or a JPEG and send that.",
        {"kind": WORD},
        how="pixels",
    ),
    _entry(
        "unsupported-kind",
        "The merged picture in this layered file is stored in a way that cannot be read here. Export a TIFF and send that.",
        how="merged-picture",
    ),
    _entry(
        "no-merged-picture",
        "This layered file was saved without a merged picture, so there is nothing to show. Save it again with the option for greatest compatibility switched on, or export a TIFF.",
    ),
    _entry(
        "too-large",
        "This file has {mb} MB; at most {most_mb} MB are taken. Flatten its layers or compress it, and send it again.",
        {"mb": N, "most_mb": N},
    ),
    _entry(
        "too-many-pixels",
        "This picture is {width_px} × {height_px} pixels; no side may be longer than {most_px} pixels. Reduce it and send it again.",
        {**SIZE, "most_px": N},
        how="side",
    ),
    _entry(
        "too-many-pixels",
        "This picture is {width_px} × {height_px} pixels, {million} million in all; at most {most_million} million are taken. Reduce it and send it again.",
        {**SIZE, "million": N, "most_million": N},
        how="area",
    ),
    _entry(
        "too-many-pages",
        "This file has {n_pages} pages; at most {most} are taken. Send the page that is meant as its own file.",
        {"n_pages": N, "most": N},
    ),
    _entry(
        "no-such-page",
        "This {kind} is a single picture; there is no page {page} in it.",
        {"kind": WORD, "page": N},
        how="single-picture",
    ),
    _entry(
        "no-such-page",
        "There is no picture {page} in this HEIC file. Choose one it has, or send a JPEG.",
        {"page": N},
        how="container",
        kind="HEIC",
    ),
    _entry(
        "no-such-page",
        "This PDF has {n_pages} page(s); there is no page {page}.",
        {"n_pages": N, "page": N},
        how="fewer-pages",
        kind="PDF",
    ),
    _entry(
        "truncated",
        "This {kind} is cut short: it ends before the picture does. Export or upload it again.",
        {"kind": WORD},
    ),
    _entry(
        "damaged",
        "This {kind} is damaged and cannot be read to its end. Export it again and send the new file.",
        {"kind": WORD},
    ),
    _entry(
        "damaged",
        "This file says its picture has no width or height. Save it again and send the new file.",
        how="no-size",
    ),
    _entry(
        "damaged",
        "This PDF is damaged and cannot be opened. Export it again and send the new file.",
        how="not-opened",
        kind="PDF",
    ),
    _entry(
        "damaged",
        "This file is damaged in a way that stops the reader. Open it in your drawing program, save it again and send the new file.",
        how="stops-the-reader",
    ),
    _entry(
        "locked", "This PDF is locked with a password. Export it again without one and send the new file.", kind="PDF"
    ),
    _entry(
        "took-too-long",
        "Opening this picture took longer than any picture may. Save it again without layers or at a smaller size, and send that.",
    ),
    _entry(
        "too-much-memory",
        "Opening this picture needs more memory than one picture may use. Save it as a TIFF or a plain (not progressive, not interlaced) JPEG or PNG, and send that.",
    ),
    _entry(
        "unreadable",
        "This file could not be read here although it may be sound: our reader failed on it. Save it as a TIFF or a JPEG and send that.",
    ),
    _entry(
        "sheet-too-large",
        "It is {width_px} × {height_px} pixels; a sheet may have {most_px} a side here. Scan it at a lower resolution.",
        {**SIZE, "most_px": N},
    ),
    _entry("one-sheet", "There is only one sheet; joining needs two or more that overlap."),
    _entry(
        "different-sizes",
        "The drawing is {times} times as large on {larger} as on {smaller}. Scan all sheets at the same resolution, then join them.",
        {"times": X, "larger": ANY, "smaller": ANY},
    ),
    _entry(
        "no-overlap",
        "No certain overlap was found for {sheets}. Scan the parts again so that each shares at least two centimetres of drawing with its neighbour, all at the same resolution.",
        {"sheets": ANY},
    ),
    _entry(
        "not-a-scan",
        "This does not look like a scan of ink on paper: most of it is painted, and taking a colour out would take the picture with it. Choose a scan of black ink over a coloured pencil.",
    ),
    _entry(
        "no-pencil",
        "No orange, red or blue under-drawing was found in this scan, so there is nothing to take out. Check that it was scanned in colour.",
        pencil="",
    ),
    _entry(
        "no-pencil",
        "No {pencil} under-drawing was found in this scan, so there is nothing to take out. Check that it was scanned in colour.",
        {"pencil": PENCIL},
    ),
    _entry(
        "no-ink",
        "Only {pencil} pencil was found in this scan and no black ink over it: nothing would be left. Choose the scan that has the ink.",
        {"pencil": PENCIL},
    ),
]
TOGETHER = "Joined, the sheets would be too large. "
SHEET = re.compile(r"Sheet (\d+) \((.+?)\): (.+)\Z", re.DOTALL)
MISFIT = "The colour profile inside the file does not fit its colours and was left aside. "
ASSUMED = [
    _entry(
        "rgb", "The file carries no colour profile; its colours are shown as sRGB, which may not be what was meant."
    ),
    _entry("grey", "The file carries no grey profile; its greys are shown on the sRGB tone scale."),
    _entry(
        "cmyk",
        "The file carries no CMYK profile; it is shown as a general coated offset press would print it, so its colours are indicative only.",
    ),
    # The capital letters of these were lost when they were put together.
    _entry("rgb-misfit", MISFIT + "Its colours are shown as srgb, which may not be what was meant."),
    _entry("grey-misfit", MISFIT + "Its greys are shown on the srgb tone scale."),
    _entry(
        "cmyk-misfit",
        MISFIT + "It is shown as a general coated offset press would print it, so its colours are indicative only.",
    ),
    _entry(
        "pdf",
        "Drawn from the PDF page at {ppi} ppi; its colours are shown as sRGB and are indicative only.",
        {"ppi": N},
    ),
]


def refusal(code, sentence):
    """Turn the sentence of a refusal into its code and its values; the code that stood beside it is kept."""
    sheet = SHEET.match(sentence)
    if sheet:
        inner_code, values = refusal(code, sheet[3])
        return inner_code, {**values, "sheet": int(sheet[1]), "sheet_name": sheet[2]}
    if code == "too-large-together" and sentence.startswith(TOGETHER):
        found = _recognised(REFUSALS, sentence[len(TOGETHER) :])
        if found:
            return code, {**_in_full(found[1]), "because": found[0]}
    found = _recognised(REFUSALS, sentence)
    if found is None or found[0] != code:
        return "as-told", {"words": sentence, "was": code}
    return code, _in_full(found[1])


def _in_full(values):
    """Give counts in full where the sentence told them in millions, and the sheets of a list one by one."""
    values = dict(values)
    if "mb" in values:
        values["n_bytes"], values["most_bytes"] = values.pop("mb") * 10**6, values.pop("most_mb") * 10**6
    if "million" in values:
        del values["million"]
        values["most_px"] = values.pop("most_million") * 10**6
    if "sheets" in values:
        values["sheets"] = str(values["sheets"]).split(" and ")
    for name in ("larger", "smaller"):
        if name in values:
            values[name] = str(values[name])
    return values


def comparisons(apps):
    for row in apps.get_model("reviews", "Comparison").objects.filter(result__isnull=False).iterator():
        result = dict(row.result)
        if "sentences" in result:
            result["remarks"] = [coded(REMARKS, sentence) for sentence in result.pop("sentences")]
        if isinstance(result.get("rates"), str):
            result["rates"] = coded(REMARKS, result["rates"])
        row.result = result
        row.save(update_fields=["result"])


def pictures(apps):
    for row in apps.get_model("reviews", "Picture").objects.iterator():
        assumed = row.facts.get("assumed_profile")
        if row.reason:
            row.reason_code, row.reason_values = refusal(row.reason_code, row.reason)
        if assumed:
            found = _recognised(ASSUMED, assumed)
            row.facts = {**row.facts, "assumed_profile": found[0] if found else {"code": "as-told", "words": assumed}}
        if row.reason or assumed:
            row.save(update_fields=["reason_code", "reason_values", "facts"])


def derivations(apps):
    for row in apps.get_model("reviews", "Derivation").objects.exclude(reason="").iterator():
        row.reason_code, row.reason_values = refusal(row.reason_code, row.reason)
        row.save(update_fields=["reason_code", "reason_values"])


def jobs(apps):
    rows = apps.get_model("reviews", "Job").objects
    for row in (rows.exclude(error_words="") | rows.exclude(progress_words="")).iterator():
        row.error = coded(ERRORS, row.error_words) if row.error_words else {}
        row.progress_step = coded(STEPS, row.progress_words) if row.progress_words else {}
        row.save(update_fields=["error", "progress_step"])


def words_to_codes(apps, schema_editor):
    for of_one_table in (comparisons, pictures, derivations, jobs):
        of_one_table(apps)


def _words(coded):
    """Give what was told, or the bare code in brackets: the sentences themselves were the older program's."""
    return coded["words"] if coded["code"] == "as-told" else f"({coded['code']})"


def codes_to_words(apps, schema_editor):
    """Leave something to read in every place where the older program expects a sentence."""
    for name in ("Picture", "Derivation"):
        for row in apps.get_model("reviews", name).objects.exclude(reason_code="").iterator():
            row.reason = _words({"code": row.reason_code, **row.reason_values})[:400]
            row.save(update_fields=["reason"])
    for row in apps.get_model("reviews", "Job").objects.exclude(error={}).iterator():
        row.error_words = _words(row.error)[:500]
        row.save(update_fields=["error_words"])
    for row in apps.get_model("reviews", "Comparison").objects.filter(result__isnull=False).iterator():
        result = dict(row.result)
        result["sentences"] = [_words(remark) for remark in result.pop("remarks", [])]
        if "rates" in result:
            result["rates"] = _words(result["rates"])
        row.result = result
        row.save(update_fields=["result"])


class Migration(migrations.Migration):
    dependencies = [("reviews", "0040_codes_beside_words")]

    operations = [migrations.RunPython(words_to_codes, codes_to_words)]
