"""A person with a draft, on whatever stack the environment names: `python -m tests.faults.outage_deeds`.

Prints the key of a session in which they are signed in, and the pictures of the draft.
"""

import json
from importlib import import_module

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY  # noqa: E402

from reviews.actions.books import make_book  # noqa: E402
from reviews.actions.pictures import show_preview  # noqa: E402
from reviews.actions.seats import make_first_account  # noqa: E402
from reviews.models import Passage  # noqa: E402
from reviews.rules.states import PassageState, Role  # noqa: E402
from tests import makers  # noqa: E402


def main() -> None:
    person = make_first_account(email="juniper@aldersea.example", name="Juniper", password="a pail of moonlight")
    book = make_book(makers.a_book(role=Role.ILLUSTRATOR), actor=person)
    passage = Passage.objects.filter(spread__book=book, state=PassageState.DRAWING).first()
    made = makers.draft(passage, book.seats.get(), (1, 2), ready=False)
    pictures = list(made.pictures.values_list("pk", flat=True))
    for picture in pictures:
        show_preview(picture, width_px=506, height_px=256)
    session = import_module(settings.SESSION_ENGINE).SessionStore()
    session[SESSION_KEY] = str(person.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = person.get_session_auth_hash()
    session.save()
    print(json.dumps({"session": session.session_key, "pictures": pictures, "passage": passage.pk}))


if __name__ == "__main__":
    main()
