"""`manage.py`, with a demo book that is made in no time: two people with seats, and no pictures."""

import sys
import types

import manage


def make_tiny_book() -> None:
    from django.utils import timezone

    from reviews.models import Book, Person, Seat

    now = timezone.now()
    book = Book.objects.create(
        title="Tansy and the Moon in the Pail", trim_width_mm=250, trim_height_mm=250, n_pages=32,
        binding="case", ends="self", start_on=now.date(), created_at=now,
    )  # fmt: skip
    for name, role in (("Juniper Aldersea", "illustrator"), ("Corvin Mallowe", "art_director")):
        person = Person.objects.create(email=f"{name.split()[0].lower()}@tiny.example", name=name, joined_at=now)
        Seat.objects.create(book=book, person=person, role=role, since=now)


if __name__ == "__main__":
    # In place of the real module, before anybody imports it: that one needs models, and models need settings.
    stand_in = types.ModuleType("reviews.demo.book")
    stand_in.make_demo_book = make_tiny_book
    sys.modules["reviews.demo.book"] = stand_in
    manage.main(sys.argv)
