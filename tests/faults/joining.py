"""A draft with two scans to be joined, for workers that will be killed at it.

`python -m tests.faults.joining prepare | report`
"""

import hashlib
import io
import json
import sys

import django

django.setup()

from django.core.files.uploadedfile import SimpleUploadedFile  # noqa: E402
from PIL import Image  # noqa: E402

from reviews.actions.derived import make_derived  # noqa: E402
from reviews.actions.hand_ins import add_picture  # noqa: E402
from reviews.actions.pictures import picture_ready  # noqa: E402
from reviews.models import Derivation, Job, LedgerEntry, Picture  # noqa: E402
from reviews.rules.derived import Making  # noqa: E402
from reviews.rules.states import Deed  # noqa: E402
from tests.cast import gather  # noqa: E402
from tests.imaging.scanned import drawn_on_paper, scan  # noqa: E402
from tests.makers import a_book  # noqa: E402


def prepare() -> None:
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    drawing = drawn_on_paper(1800, 1000, 601)
    sheets = []
    for name, left in (("left.png", 0), ("right.png", 700)):
        out = io.BytesIO()
        Image.fromarray(scan(drawing, left, 0, 1100, 1000, left + 1, turn=left / 1000).picture).save(out, "PNG")
        sha256 = hashlib.sha256(out.getvalue()).hexdigest()
        sheet = add_picture(passage.pk, SimpleUploadedFile(name, out.getvalue()), sha256=sha256, actor=cast.illustrator)
        picture_ready(sheet.pk, width_px=1100, height_px=1000, facts={})
        sheets.append(sheet)
    make_derived(sheets[0].hand_in_id, Making.JOIN, [sheet.pk for sheet in sheets], actor=cast.illustrator)


def report() -> None:
    derivation = Derivation.objects.get()
    job = Job.objects.get(kind="derive")
    print(
        json.dumps(
            {
                "state": derivation.state,
                "job": job.state,
                "attempts": job.attempts,
                "progress": job.progress,
                "made": list(Picture.objects.filter(file_name="left, joined.png").values_list("sha256", flat=True)),
                "entries": LedgerEntry.objects.filter(deed=Deed.DERIVE_PICTURE).count(),
            }
        )
    )


if __name__ == "__main__":
    {"prepare": prepare, "report": report}[sys.argv[1]]()
