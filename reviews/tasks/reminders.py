"""The morning's mail: one for each person, with all that fell due and all that waited.

The embedded worker's loop and the house's sweep both call `remind`; any number of them may do so at once.
"""

from __future__ import annotations

from datetime import datetime

from reviews import jobs
from reviews.actions.jobs import Claim
from reviews.actions.reminders import begin_morning, close_what_can_be_met, digest_sent, say_at_once
from reviews.models import Book, Digest
from reviews.notices.digests import digest_mail
from reviews.notices.mail import send
from reviews.queries.reckoning import Reckoning, reckon
from reviews.queries.reminders import both_sides, cannot_meet_dues, dues_for, mornings
from reviews.tasks.registry import does


def remind(now: datetime) -> int:
    """Put the mail of everybody together whose morning has come; say how many mails that makes.

    Usually 1 query: the day has not begun anywhere new.
    """
    waiting = mornings(now)
    if not waiting:
        return 0
    books: dict[int, Book] = {seat.book_id: seat.book for morning in waiting for seat in morning.seats}
    reckoned = reckon(list(books.values()), now)
    for book_id, found in reckoned.items():
        close_what_can_be_met(book_id, [due.cause for due in cannot_meet_dues(found)])
    n_mails = 0
    for morning in waiting:
        dues = [due for seat in morning.seats for due in dues_for(seat, reckoned[seat.book_id])]
        n_mails += begin_morning(morning.person.pk, morning.day, dues)
    return n_mails


def say_what_cannot_be_met(reckoned: Reckoning) -> int:
    """Tell both sides on the day itself; say how many mails that makes."""
    dues = cannot_meet_dues(reckoned)
    close_what_can_be_met(reckoned.book.pk, [due.cause for due in dues])
    if not dues:
        return 0
    return sum(say_at_once(seat.person, reckoned.today, dues) for seat in both_sides(reckoned.book.pk))


@does(jobs.DIGEST)
def send_digest(claim: Claim) -> None:
    """Mail one digest, unless that was done or there is nothing in it any more that the person may read."""
    digest = Digest.objects.select_related("person").get(pk=claim.subject_id)
    if digest.sent_at is not None:
        return
    mail = digest_mail(digest)
    if mail is None:
        return
    send(mail)
    digest_sent(digest.pk, claim)
