"""How the portal runs, in words: for the operator's page, and one line a day by mail when something is wrong."""

from __future__ import annotations

from django.conf import settings

from reviews.models import Person
from reviews.notices.mail import Mail, link, message_id, written
from reviews.pages.wording.jobs import error_sentence
from reviews.queries.running import Running


def wrong_lines(running: Running) -> list[str]:
    """Say each thing that needs somebody, in one sentence; nothing where all is well."""
    lines = []
    if running.n_given_up:
        lines.append(f"Given up: {_count(running.n_given_up, 'piece')} of work. Mend the cause, then begin them again.")
    if running.stuck:
        lines.append(f"Waiting for long, or tried again and again: {_count(len(running.stuck), 'piece')} of work.")
    if running.n_mails_failing:
        n_mails = _count(running.n_mails_failing, "mail")
        lines.append(f"{n_mails} could not be sent so far. {error_sentence(running.mail_error)}".strip())
    lines += [
        f"Little room: {room.free // 1024**2} MB ({room.percent_free} %) left for {room.folder}."
        for room in running.rooms
        if room.is_little
    ]
    lines += [f"No {name} process was seen for five minutes: is it running?" for name in running.unseen]
    lines += [
        f"The clock jumped by {jump} seconds. Silence approves nothing and no morning mail goes until it is put back, "
        "or until you say that it is right now."
        for jump in running.clock_jumps
    ]
    if unverified := getattr(running.store_check, "n_wrong", 0):
        lines.append(f"{_count(unverified, 'stored picture')} did not stand up to the last check.")
    return lines


def operator_mail(person: Person, day: str, running: Running) -> Mail | None:
    """Write the day's mail for whoever runs the portal; None where by now nothing is wrong."""
    lines = wrong_lines(running)
    if not lines:
        return None
    context = {"name": person.name, "lines": lines, "address": link("running"), "version": settings.VERSION}
    text, html = written("running", context)
    subject = f"Roughproof needs you: {lines[0]}"
    return Mail(person.email, subject[:150], text, html, message_id(f"running-{person.pk}-{day}"))


def _count(n: int, noun: str) -> str:
    return f"{n} {noun}" if n == 1 else f"{n} {noun}s"
