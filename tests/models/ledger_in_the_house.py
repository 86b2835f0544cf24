"""Deeds on a house's real database: `python -m tests.models.ledger_in_the_house` prints what came of them as JSON."""

import json

import django

django.setup()

from django.db import IntegrityError, connection, transaction  # noqa: E402

from reviews.actions import hand_ins, letters  # noqa: E402
from reviews.models import LedgerEntry, Passage  # noqa: E402
from reviews.pages.wording.ledger_faults import fault_words  # noqa: E402
from reviews.queries.approvals import told_silent  # noqa: E402
from reviews.queries.ledger_check import ledger_faults  # noqa: E402
from reviews.queries.letters import letter_fingerprint  # noqa: E402
from tests.actions.at_once import at_once  # noqa: E402
from tests.cast import gather  # noqa: E402
from tests.letter_scene import answered, draft_of  # noqa: E402
from tests.makers import a_book, draft  # noqa: E402


def refused(statement: str) -> str:
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)
    except IntegrityError as problem:
        return str(problem).splitlines()[0]
    return "not refused"


def silence_told(of: Passage) -> list[tuple[str, bool]]:
    return list(told_silent(Passage.objects.filter(pk=of.pk)).values_list("state", "is_silent"))


def tell_silence(of: Passage) -> None:
    """Write a line as silence would have: only how the database reads it is looked at here."""
    line = LedgerEntry.objects.filter(book=of.book_id).order_by("-seq").first()
    line.pk, line.seq, line.passage_id, line.sha256 = None, line.seq + 1, of.pk, "0" * 64
    line.deed, line.data = "approve-by-silence", {"hand_in": of.hand_in_id}
    line.save(force_insert=True)


def main() -> None:
    cast = gather(a_book())
    ideas = cast.passage("Pages 4–5", "ideas")
    prepared = draft(ideas, cast.illustrator)
    handed = at_once(*[lambda: hand_ins.hand_in(prepared.pk, actor=cast.illustrator)] * 3)
    answered(cast, ideas, "approve")
    letter = draft_of(cast)
    looked_at = letter_fingerprint(letter)
    sent = at_once(*[lambda: letters.send_letter(letter.pk, looked_at=looked_at, actor=cast.art_director)] * 2)
    told = {
        "update": refused("UPDATE reviews_ledgerentry SET role = 'editor'"),
        "delete": refused("DELETE FROM reviews_ledgerentry"),
        "empty": refused("TRUNCATE reviews_ledgerentry CASCADE"),
        "hand in three times": handed,
        "send twice": sent,
        "faults": [fault_words(fault) for fault in ledger_faults(cast.book)],
        "answered": silence_told(ideas),
    }
    ideas.refresh_from_db()
    tell_silence(ideas)
    told["silent"] = silence_told(ideas)
    print(json.dumps(told))


if __name__ == "__main__":
    main()
