"""Times the contract's computations: `python -m tests.bench.bench_contract`.

Prints processor seconds, the best of several runs, so that other work on the machine shows as little as possible.
"""

import json
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.recount import count_again, export
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.term_sets import READY_SETS
from reviews.rules.contract.terms import TermsHistory
from reviews.rules.entries import Entry
from reviews.rules.forecast.outlook import Setting
from reviews.rules.forecast.pace import ANSWER_GUESS, FIRST_GUESS, REDO_GUESS, Pace, Pool, SpreadLeft, Task, sliced
from reviews.rules.forecast.simulation import forecast
from reviews.rules.states import Side
from tests.rules.ledgers import CORVIN, JUNIPER, Ledger

TERMS = TermsHistory((READY_SETS["illustrator"].terms,))
STAGES = ("ideas", "sketch", "full_sketch", "line", "ink", "flats", "colour", "proof")


def best_of(n: int, run: Callable[[], object]) -> float:
    times = []
    for _ in range(n):
        started = time.process_time()
        run()
        times.append(time.process_time() - started)
    return min(times)


def book_of(n_spreads: int, n_letters: int, *, notes: int = 0) -> tuple[Ledger, date]:
    """A whole book: every stage of every spread takes `n_letters` letters; each asks for `notes` changes a spread."""
    book = Ledger(n_spreads, STAGES)
    at = datetime(2026, 3, 2, 9, tzinfo=UTC)
    for stage in range(len(STAGES)):
        passages = [book.passage(spread, stage) for spread in book.spreads]
        for letter in range(n_letters):
            at += timedelta(days=5)
            for passage in passages:
                book.hand_in(passage, at)
                for note in range(notes):
                    # Every note is pinned, weighed for the letter and answered: three entries the rules pass over.
                    book.add(at, "pin-note", CORVIN, passage, note=note)
                    book.add(at, "weigh-note", CORVIN, passage, note=note)
                    book.add(at, "answer-note", JUNIPER, passage, note=note)
            at += timedelta(days=5)
            is_last = letter == n_letters - 1
            book.letter(at, *((book.approve if is_last else book.ask)(passage) for passage in passages))
    return book, at.date()


def statement_seconds() -> tuple[float, float]:
    """20 spreads × 8 stages × 6 letters; beside it, as the reference, writing and reading the same ledger as JSON."""
    book, as_of = book_of(20, 6)
    file = export("Book", as_of, as_of, book.spreads.values(), TERMS, book.entries)
    drawn, written = [], []
    for _ in range(25):
        drawn.append(best_of(1, lambda: draw_up(book.entries, TERMS, as_of, book.spreads, final_on=as_of)))
        written.append(best_of(1, lambda: json.loads(json.dumps(file))))
    return min(drawn), min(written)


def long_ledger() -> tuple[list[Entry], date]:
    """100,000 entries: a book of 24 spreads with 8 letters a stage and 22 notes in each, cut off at the number."""
    book, as_of = book_of(24, 8, notes=22)
    return book.entries[:100_000], as_of


def recount_seconds(entries: list[Entry], as_of: date) -> float:
    """Reading the file's lines is part of a recount; reading JSON is not."""
    file = export("Long", as_of, as_of, book_of(24, 1)[0].spreads.values(), TERMS, entries)
    return best_of(3, lambda: count_again(file))


def forecast_seconds() -> float:
    """17 spreads × 5 stages, 10,000 futures, a round or two each, letters once a week."""
    stages = [Task("sketch", 1.2, 10), Task("full_sketch", 1.2, 10), Task("line", 0.9, 5), Task("ink", 0.9, 5)]
    pieces = [
        SpreadLeft(spread=n, label=f"Opening {n}", tasks=(*stages, Task("colour", 2.4, 10)), holder=Side.ILLUSTRATOR)
        for n in range(17)
    ]
    pace = Pace(sliced(FIRST_GUESS), sliced(REDO_GUESS), sliced(ANSWER_GUESS), Pool((0, 1, 1, 2), 0))
    setting = Setting(
        today=date(2026, 11, 25),
        hands=working_calendar(["GB-ENG"]),
        desk=working_calendar(["US"]),
        letters_every=5,
        target_on=date(2027, 9, 1),
    )
    return best_of(5, lambda: forecast(pieces, pace, setting))


def main() -> None:
    drawn, written = statement_seconds()
    print(
        f"statement, 20 spreads x 8 stages x 6 letters: {drawn * 1000:.0f} ms, "
        f"{drawn / written:.1f} times its ledger's way through JSON"
    )
    entries, as_of = long_ledger()
    seconds = recount_seconds(entries, as_of)
    print(f"recount, {len(entries):,} entries: {seconds:.2f} s, {len(entries) / seconds:,.0f} entries per second")
    print(f"forecast, 17 spreads x 5 stages, 10,000 futures: {forecast_seconds():.2f} s")


if __name__ == "__main__":
    main()
