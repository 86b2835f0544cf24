"""Deeds done on whatever stack the environment names: `python -m tests.portal.house_deeds begin | state`."""

import json
import sys

import django

django.setup()

from reviews.actions.books import make_book  # noqa: E402
from reviews.actions.seats import invite, make_first_account  # noqa: E402
from reviews.models import Job, Passage, Picture  # noqa: E402
from reviews.rules.states import PassageState, Role  # noqa: E402
from tests import makers  # noqa: E402


def begin() -> None:
    """Make a book, invite its editor, and put two pictures into a draft."""
    person = make_first_account(email="juniper@aldersea.example", name="Juniper", password="a pail of moonlight")
    book = make_book(makers.a_book(role=Role.ILLUSTRATOR), actor=person)
    seat = book.seats.get()
    invite(book.pk, email="corvin@thimblereed.example", name="Corvin", role=Role.ART_DIRECTOR, actor=seat)
    passage = Passage.objects.filter(spread__book=book, state=PassageState.DRAWING).first()
    makers.draft(passage, seat, (1, 2), ready=False)


def state() -> None:
    print(
        json.dumps(
            {
                "jobs": list(Job.objects.order_by("pk").values_list("kind", "state")),
                "pictures": list(Picture.objects.order_by("pk").values_list("state", "width_px", "height_px")),
                "sha256": list(Picture.objects.order_by("pk").values_list("sha256", flat=True)),
            }
        )
    )


if __name__ == "__main__":
    {"begin": begin, "state": state}[sys.argv[1]]()
