"""Bring the profile of a printing condition to a book, and have pictures shown as it would print them."""

from __future__ import annotations

import hashlib
import io

from django.db import transaction

from reviews import jobs, storage
from reviews.actions._deed import deed_on
from reviews.actions._originals import hold_original
from reviews.actions.clock import moment
from reviews.actions.jobs import begin_work_again
from reviews.imaging.files.icc import name_of, printing_fault
from reviews.models import Book, Picture, PrintProfile, Seat, SoftProof
from reviews.press.soft_proof import MOST_PROFILE_BYTES, SOFT_METHOD, NotProofed, Rendering, SoftChoice
from reviews.queries.access import may_see_picture
from reviews.queries.print_profiles import ProfileOffered, profiles_for
from reviews.queries.soft_proofs import MOST_OF_ONE, may_be_proofed
from reviews.rules.print_payloads import BringProfileData
from reviews.rules.states import Deed, Refused, StageKind

MOST_PROFILES = 20  # on one book


def bring_profile(book_id: int, *, file_name: str, data: bytes, actor: Seat) -> PrintProfile:
    """Keep a profile on a book; raises Refused for a file that is none, is too large, or is there already."""
    if len(data) > MOST_PROFILE_BYTES:
        raise Refused("profile-too-large", most=MOST_PROFILE_BYTES >> 20)
    fault = printing_fault(data)
    if fault is not None:
        raise Refused(fault.value, name=file_name)
    sha256 = hashlib.sha256(data).hexdigest()
    storage.keep_original(io.BytesIO(data), sha256)
    with deed_on(Book, book_id, Deed.BRING_PROFILE, actor) as act:
        rows = PrintProfile.objects.filter(book=act.book)
        if rows.filter(sha256=sha256).exists():
            raise Refused("profile-there", name=file_name)
        if rows.count() >= MOST_PROFILES:
            raise Refused("too-many-profiles", most=MOST_PROFILES)
        if not hold_original(sha256):
            storage.keep_original(io.BytesIO(data), sha256)
        row = PrintProfile.objects.create(
            book=act.book,
            name=(name_of(data) or file_name)[:200],
            file_name=file_name[:255],
            sha256=sha256,
            n_bytes=len(data),
            added_by=act.by,
            added_at=act.now,
        )
        act.holds(row)
        act.record(BringProfileData(profile=row.pk, name=row.name, file_name=row.file_name, sha256=sha256))
    return row


def ask_for_soft_proof(picture: Picture, choice: SoftChoice, *, actor: Seat) -> SoftProof:
    """Have a picture shown as printed, once per choice. No deed of anyone's: it says nothing about the book.

    Raises Refused for a picture that cannot be shown so, a profile that is not offered, or where too many are kept.
    """
    passage = picture.hand_in.passage
    if not may_see_picture(picture, actor) or not may_be_proofed(picture, StageKind(passage.stage.kind)):
        raise Refused("no-soft-proof")
    offered = next((one for one in profiles_for(passage.book) if one.sha256 == choice.profile_sha256), None)
    if offered is None:
        raise Refused("no-such-profile")
    if choice.rendering == Rendering.OWN_INKS and not str(picture.facts["mode"]).startswith("CMYK"):
        raise Refused("no-inks-to-keep")
    with transaction.atomic():
        _stored(offered)
        return _asked(picture, choice, offered)


def _stored(offered: ProfileOffered) -> None:
    """Keep a profile of this machine where every worker finds it."""
    if not hold_original(offered.sha256) and offered.path is not None:
        storage.keep_original(offered.path, offered.sha256)


def _asked(picture: Picture, choice: SoftChoice, offered: ProfileOffered) -> SoftProof:
    of_one = SoftProof.objects.filter(sha256=picture.sha256, method=SOFT_METHOD)
    told = {
        "profile_sha256": choice.profile_sha256,
        "rendering": choice.rendering.value,
        "has_black_point": choice.has_black_point,
        "shows_paper": choice.shows_paper,
    }
    row = of_one.filter(**told).first()
    if row is None:
        if of_one.count() >= MOST_OF_ONE:
            raise Refused("too-many-soft-proofs", most=MOST_OF_ONE)
        row, _ = SoftProof.objects.get_or_create(
            sha256=picture.sha256,
            method=SOFT_METHOD,
            **told,
            defaults={"profile_name": offered.name[:200], "profile_n_bytes": offered.n_bytes},
        )
    if row.result is not None and _is_asked_anew(row, choice):
        # Under a key of its own, since a finished job is not begun again.
        SoftProof.objects.filter(pk=row.pk).update(result=None, made_at=None)
        jobs.enqueue(jobs.SOFT_PROOF, row.pk, key=f"{jobs.SOFT_PROOF}:{row.pk}:{moment():%Y%m%d%H%M%S}")
    elif row.result is None and not begin_work_again(jobs.SOFT_PROOF, row.pk):
        jobs.enqueue(jobs.SOFT_PROOF, row.pk)
    return row


def _is_asked_anew(row: SoftProof, choice: SoftChoice) -> bool:
    """Say whether its file was lost, or nothing was made for a reason that may have passed: too little time, say."""
    result = row.result or {}
    if "width_px" in result:
        return not storage.exists(storage.rendition_name(row.sha256, choice.file_name("jpg")))
    return result.get("code") not in set(NotProofed)


def keep_soft_proof(row_id: int, result: dict[str, object]) -> None:
    """Keep what came of it. No deed of anyone's: the same files always give the same."""
    SoftProof.objects.filter(pk=row_id, result__isnull=True).update(result=result, made_at=moment())
