"""A book to work on while the power is cut, and what is found of it afterwards.

`python -m tests.faults.at_work prepare | report`
"""

import json
import sys

import django

django.setup()

from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY  # noqa: E402
from django.db import connection  # noqa: E402

from portal.sessions import SessionStore  # noqa: E402
from reviews import storage  # noqa: E402
from reviews.models import Book, Note, Passage, Person, Picture  # noqa: E402
from reviews.queries.ledger_check import ledger_faults  # noqa: E402
from reviews.rules.states import PassageState  # noqa: E402
from tests.cast import gather  # noqa: E402
from tests.makers import a_book, handed_in  # noqa: E402


def prepare() -> None:
    """Make a book with a hand-in to mark, open drafts, and sessions of the illustrator and the art director."""
    cast = gather(a_book(n_pages=32))
    marked = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, (1,))
    drawing = Passage.objects.filter(spread__book=cast.book, state=PassageState.DRAWING).order_by("pk")
    print(
        json.dumps(
            {
                "marked": marked.passage_id,
                "picture": marked.pictures.get().pk,
                "drafts": list(drawing.values_list("pk", flat=True)),
                "illustrator": a_session(cast.illustrator.person),
                "art_director": a_session(cast.art_director.person),
            }
        )
    )


def a_session(person: Person) -> str:
    session = SessionStore()
    session[SESSION_KEY] = str(person.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = person.get_session_auth_hash()
    session.create()
    return session.session_key


def report() -> None:
    """Tell what stands: every picture with the bytes found under its name, the notes, the ledger."""
    with connection.cursor() as cursor:
        integrity = cursor.execute("PRAGMA integrity_check").fetchone()[0]
    print(
        json.dumps(
            {
                "integrity": integrity,
                "ledger": [str(fault) for book in Book.objects.all() for fault in ledger_faults(book)],
                "pictures": [a_picture(picture) for picture in Picture.objects.order_by("pk")],
                "notes": list(Note.objects.values_list("words", flat=True)),
            }
        )
    )


def a_picture(picture: Picture) -> dict[str, object]:
    name = storage.original_name(picture.sha256)
    shown = storage.has_renditions(picture.sha256)
    return {
        "name": picture.file_name,
        "sha256": picture.sha256,
        "found": storage.hash_of(name) if storage.exists(name) else "nothing",
        "state": picture.state,
        "is_shown": shown or picture.facts.get("scale_factors") is None,
    }


if __name__ == "__main__":
    {"prepare": prepare, "report": report}[sys.argv[1]]()
