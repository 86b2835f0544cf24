"""An instalment is called overdue by what was told of its money, and by nothing else."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from reviews.pages.statement_money import InstalmentRow
from reviews.rules.contract.bills import Bill, BillPayment
from reviews.rules.contract.fees import Money
from reviews.rules.contract.instalments import InstalmentState

BY = date(2026, 8, 24)


def gbp(amount: int) -> Money:
    return Money(Decimal(f"{amount}.00"), "GBP")


def row(as_of: date, *received: int, said: tuple[int, ...] = ()) -> InstalmentRow:
    state = InstalmentState(
        name="On signature", money=gbp(2400), share=Decimal(25), met_on=date(2026, 7, 24), pay_by_on=BY, n_reached=1,
        n_needed=1, entries=(3,),
    )  # fmt: skip
    came, paid = (
        tuple(BillPayment(money=gbp(one), on=date(2026, 9, 1), seq=9) for one in sums) for sums in (received, said)
    )
    bill = Bill(
        invoice=1, number="R-7", name="On signature", money=gbp(2400), invoiced_on=date(2026, 7, 24), told_by=(4,),
        said_paid=paid, received=came,
    )  # fmt: skip
    return InstalmentRow(state, as_of, (bill,))


@pytest.mark.parametrize(
    ("as_of", "received", "said", "words"),
    [
        (BY, (), (), "Met"),
        (date(2026, 8, 25), (), (), "Overdue: GBP 2,400.00 not told as received"),
        (date(2026, 8, 25), (1400,), (), "Overdue: GBP 1,000.00 not told as received"),
        (date(2026, 8, 25), (1400, 1000), (), "Met"),
        (date(2026, 8, 25), (2500,), (), "Met"),
        # The publisher's word alone settles nothing, and the status beside it says what the publisher says.
        (date(2026, 8, 25), (), (2400,), "Overdue: GBP 2,400.00 not told as received"),
    ],
)
def test_overdue_is_what_is_left_after_the_day_by_which_it_was_to_be_paid(as_of, received, said, words):
    assert row(as_of, *received, said=said).progress == words


def test_a_part_leaves_the_rest_outstanding():
    assert row(BY, 1400).billed == "R-7: GBP 1,400.00 received. GBP 1,000.00 outstanding."
