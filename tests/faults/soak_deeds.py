"""The play of a soak run, on whatever stack is named: `python -m tests.faults.soak_deeds begin | state`."""

import json
import sys
from collections import Counter
from importlib import import_module

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY  # noqa: E402

from reviews import storage  # noqa: E402
from reviews.models import Book, Job, Letter, Note, Notice, Picture, Seat  # noqa: E402
from reviews.queries.ledger_check import ledger_faults  # noqa: E402
from tests.cast import gather  # noqa: E402
from tests.makers import a_book  # noqa: E402


def signed_in(seat: Seat) -> str:
    session = import_module(settings.SESSION_ENGINE).SessionStore()
    session[SESSION_KEY] = str(seat.person_id)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = seat.person.get_session_auth_hash()
    session.save()
    return str(session.session_key)


def begin() -> dict:
    cast = gather(a_book())
    return {
        "book": cast.book.pk,
        "passage": cast.passage("Cover", "ideas").pk,
        "illustrator": signed_in(cast.illustrator),
        "art_director": signed_in(cast.art_director),
    }


def state() -> dict:
    shown = Picture.objects.filter(removed_at=None).values_list("sha256", flat=True)
    return {
        "pictures": Counter(Picture.objects.filter(removed_at=None).values_list("state", flat=True)),
        "notes": Counter(Note.objects.values_list("words", flat=True)),
        "letters": Letter.objects.filter(sent_at__isnull=False).count(),
        "without_bytes": sum(not storage.stands(storage.original_name(sha), sha) for sha in shown),
        "ledger": [str(fault) for book in Book.objects.all() for fault in ledger_faults(book)],
        "open": Job.objects.open().count(),
        "failed": list(Job.objects.filter(state="failed").values_list("kind", "error")),
        "notices_unsent": Notice.objects.filter(waits=False, sent_at=None).count(),
    }


if __name__ == "__main__":
    print(json.dumps({"begin": begin, "state": state}[sys.argv[1]]()))
