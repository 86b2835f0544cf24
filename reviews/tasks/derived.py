"""Make a picture from sheets of a draft in the background: joined, or the ink alone."""

from __future__ import annotations

import hashlib
import tempfile
from contextlib import ExitStack
from pathlib import Path

from reviews import jobs, storage
from reviews.actions.derived import derived_failed, derived_made
from reviews.actions.jobs import Claim, note_progress
from reviews.imaging.arrays import Step
from reviews.imaging.derived import Derived, Refusal, join_files, take_ink_from, take_page_from, turn_file
from reviews.queries.derived import DerivedWork, work_of
from reviews.rules.derived import Making
from reviews.tasks.registry import does


@does(jobs.DERIVE)
def make_derived_picture(claim: Claim) -> None:
    """Make one picture. The same sheets give the same bytes, and the row is written with the job's end: once."""
    work = work_of(claim.subject_id)
    if work is None:
        return
    with tempfile.TemporaryDirectory(prefix="derived-") as folder:
        made = _made(work, Path(folder) / f"made.{work.options.get('ending', 'png')}", claim)
        if isinstance(made, Refusal):
            derived_failed(claim, code=made.code, values=made.values)
            return
        sha256 = _sha256(made.path)
        # The bytes first: a row never names bytes that are not there.
        storage.keep_original(made.path, sha256)
        derived_made(claim, sha256=sha256, n_bytes=made.path.stat().st_size, recipe=made.recipe)


def _made(work: DerivedWork, out: Path, claim: Claim) -> Derived | Refusal:
    with ExitStack() as opened:
        sheets = [opened.enter_context(storage.open_original_locally(sha256)) for sha256 in work.sha256s]
        made = _made_of(sheets, work, out, claim)
        if isinstance(made, Refusal):
            # No verdict on the sheets where they could not be reached.
            for sheet, sha256 in zip(sheets, work.sha256s, strict=True):
                storage.check_still_there(sheet, sha256)
        return made


def _made_of(sheets: list[Path], work: DerivedWork, out: Path, claim: Claim) -> Derived | Refusal:
    def on_progress(share: float, step: Step) -> None:
        note_progress(claim, round(100 * share), step)

    if work.making == Making.JOIN:
        return join_files(sheets, out, names=work.names, on_progress=on_progress)
    if work.making == Making.PAGE:
        return take_page_from(sheets[0], out, work.options["page"], on_progress=on_progress)
    if work.making == Making.TURN:
        given = work.options
        return turn_file(sheets[0], out, quarters=given["quarters"], cut=given["cut"], on_progress=on_progress)
    at = work.options.get("at")
    return take_ink_from(sheets[0], out, work.pencil, at=at, names=work.names, on_progress=on_progress)


def _sha256(path: Path) -> str:
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()
