"""A book with something of every kind that is kept: `python -m tests.commands.kept_things begin | dump | go-on N`."""

import json
import sys

import django

django.setup()

from django.apps import apps  # noqa: E402
from django.core.serializers.json import DjangoJSONEncoder  # noqa: E402

from reviews import storage  # noqa: E402
from reviews.actions.hand_ins import hand_in  # noqa: E402
from reviews.models import Book, Job, Passage, Picture, Seat  # noqa: E402
from reviews.queries.ledger_check import ledger_faults  # noqa: E402
from reviews.queries.stored import all_names  # noqa: E402
from reviews.rules.states import PassageState, Role  # noqa: E402
from reviews.tasks.runner import run_job  # noqa: E402
from tests import makers  # noqa: E402
from tests.cast import gather  # noqa: E402
from tests.letter_scene import answered, pinned, sent  # noqa: E402


def begin() -> None:
    """Hand two pictures in, mark one, answer by a letter, and do all the work that asks for: papers, mails, tiles."""
    cast = gather(makers.a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    draft = makers.draft(passage, cast.illustrator, (1, 2), ready=False)
    work()
    handed = hand_in(draft.pk, cover_note="Two ways in; the owl’s is mine.", actor=cast.illustrator)
    assert handed.number == 1
    pinned(passage, cast.art_director, "The owl’s eye: “rounder”.\tEver\\so.\nTwice.")
    answered(cast, passage, "ask")
    sent(cast)
    makers.draft(cast.passage("Pages 6–7", "ideas"), cast.illustrator, (3,), ready=False)
    work()


def work() -> None:
    while waiting := list(Job.objects.filter(state="queued").values_list("pk", flat=True)):
        done = [run_job(pk) for pk in waiting]
        if not any(done):
            return  # the rest waits for a later moment


def go_on(n: int) -> None:
    """Put pictures in and take them out, so that rows and files change while a backup is made; says when it began."""
    seat = Seat.objects.filter(role=Role.ILLUSTRATOR).first()
    passages = list(Passage.objects.filter(spread__book__seats=seat, state=PassageState.DRAWING).order_by("pk")[:6])
    print("going on", flush=True)
    for seed in range(100, 100 + n):
        makers.draft(passages[seed % len(passages)], seat, (seed,), ready=False)


def dump() -> None:
    """Write every row of every table, every stored file with its hash, and what the ledgers say of themselves."""
    rows = {
        model._meta.db_table: list(model._base_manager.order_by("pk").values())
        for model in apps.get_models(include_auto_created=True)
    }
    files = {name: storage.hash_of(name) for name in all_names()}
    found = {
        "rows": rows,
        "files": files,
        "faults": [str(fault) for book in Book.objects.all() for fault in ledger_faults(book)],
        "lost": [p.sha256 for p in Picture.objects.all() if files.get(storage.original_name(p.sha256)) != p.sha256],
    }
    print(json.dumps(found, cls=DjangoJSONEncoder))


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["begin"]:
            begin()
        case ["dump"]:
            dump()
        case ["go-on", n]:
            go_on(int(n))
        case other:
            sys.exit(f"What is {other}?")
