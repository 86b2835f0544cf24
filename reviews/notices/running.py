"""How the portal runs, in words: for the operator's page, and one line a day by mail when something is wrong."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.utils import timezone
from django.utils.formats import date_format

from reviews.models import Person
from reviews.models.store_checks import N_SHARDS
from reviews.notices.mail import Mail, link, message_id, written
from reviews.notices.stored_faults import fault_words
from reviews.pages.wording.jobs import error_sentence
from reviews.queries.running import MOST_LISTED, Running
from reviews.queries.store_checks import StoreState


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
    if running.store.n_faults:
        n_files = _count(running.store.n_faults, "stored file")
        lines.append(f"{n_files} failed the last check: missing, damaged, or named by nothing here.")
    return lines


def store_line(store: StoreState) -> str:
    """Say how far the stored pictures were looked at, and what was found then; never more than that."""
    if store.last_at is None:
        return "Not looked at yet; the first look comes after two in the morning."
    day = _day(store.last_at)
    if store.all_seen_since is None:
        far = f"Last looked at on {day}; {store.n_shards_seen} of {N_SHARDS} parts so far"
    else:
        far = f"Last looked at on {day}; every part since {_day(store.all_seen_since)}"
    found = f"{_count(store.n_faults, 'fault')} found" if store.n_faults else "No fault was found"
    return f"{far}. {found} in what was looked at."


def store_faults(store: StoreState) -> list[str]:
    """Say what is wrong with each stored file that was named, and what to do; the rest is counted."""
    lines = [fault_words(fault) for fault in store.faults[:MOST_LISTED]]
    n_more = store.n_faults - len(lines)
    if n_more > 0:
        lines.append(f"{n_more} more: manage.py verify_pictures names them.")
    return lines


def operator_mail(person: Person, day: str, running: Running) -> Mail | None:
    """Write the day's mail for whoever runs the portal; None where by now nothing is wrong."""
    lines = wrong_lines(running)
    if not lines:
        return None
    context = {"name": person.name, "lines": lines, "address": link("running"), "version": settings.VERSION}
    text, html = written("running", context)
    subject = f"Roughproof needs you: {lines[0]}"
    return Mail(
        to=person.email,
        subject=subject[:150],
        text=text,
        html=html,
        message_id=message_id(f"running-{person.pk}-{day}"),
    )


def _day(moment: datetime) -> str:
    return date_format(timezone.localtime(moment), "j F Y")


def _count(n: int, noun: str) -> str:
    return f"{n} {noun}" if n == 1 else f"{n} {noun}s"
