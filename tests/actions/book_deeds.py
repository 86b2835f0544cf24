"""Deeds of a walk that concern the whole book: its pages, its plan, its money, its last day, consent to go beyond.

`BOOK_DEEDS` names them all; `NOT_DRAWN` has the reason for each deed that no walk draws. A new deed belongs in one of
the two.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from reviews.actions import invoices, repagination, second_voice
from reviews.actions.book_facts import change_book
from reviews.actions.dates import ask_for_date
from reviews.actions.layout import change_plan
from reviews.actions.page_changes import ask_for_pages
from reviews.actions.proposals import accept_proposal, decline_proposal, withdraw_proposal
from reviews.actions.stage_names import name_stages, opened_stages
from reviews.actions.terms import ask_consent, decline_consent, give_consent, withdraw_consent
from reviews.models import Invoice, OverConsent, Passage, Payment, Spread, StagePlan
from reviews.rules.contract.days import add_working_days
from reviews.rules.contract.fees import Money
from reviews.rules.page_changes import PageDeed, WantedPages
from reviews.rules.repagination import Moving
from reviews.rules.states import Deed, PassageState, Refused, StageKind
from tests.agreed import across_from

if TYPE_CHECKING:
    from tests.actions.steered import Steered


def change_the_pages(walk: Steered) -> None:
    """Drop a spread, bring one back or add one where pages are free, as both sides agree."""
    live = Spread.objects.filter(book=walk.cast.book, removed_at=None, first_page__isnull=False)
    gone = Spread.objects.filter(book=walk.cast.book, dropped_at__isnull=False)
    spread = walk.one_of([*gone, *(live if walk.chance.random() < 0.5 else ())])
    wanted = WantedPages(what=PageDeed.DROP, spread=spread.pk)
    if spread.dropped_at is not None:
        what = walk.chance.choice([PageDeed.BACK, PageDeed.BACK, PageDeed.ADD])
        wanted = WantedPages(
            what=what,
            spread=spread.pk if what == PageDeed.BACK else None,
            first_page=spread.first_page,
            last_page=spread.last_page,
        )
    actor = walk.chance.choice([walk.cast.art_director, walk.cast.illustrator])
    made = ask_for_pages(walk.cast.book.pk, wanted, "The middle is too long.", actor=actor)
    if made is not None and walk.chance.random() < 0.9:
        accept_proposal(made.pk, actor=across_from(actor))


def change_places(walk: Steered) -> None:
    live = list(Spread.objects.filter(book=walk.cast.book, removed_at=None, first_page__isnull=False).order_by("pk"))
    here, there = walk.chance.sample(live, 2)
    moving = walk.chance.choice(list(Moving))
    repagination.move_spread(here.pk, there.pk, moving, "It reads better so.", actor=walk.cast.art_director)


def change_the_order_of_stages(walk: Steered) -> None:
    plan = StagePlan.objects.get(book=walk.cast.book, covers=False)
    stages = [stage.as_planned() for stage in plan.stages.order_by("position")]
    opened = opened_stages(walk.cast.book)
    n = walk.one_of(n for n in range(len(stages) - 1) if not {stages[n].kind, stages[n + 1].kind} & opened)
    stages[n], stages[n + 1] = stages[n + 1], stages[n]
    change_plan(plan.pk, stages, actor=walk.cast.art_director)


def name_a_stage(walk: Steered) -> None:
    name = walk.chance.choice(["Paint", "Gouache", ""])
    name_stages(walk.cast.book.pk, {StageKind.COLOUR: name}, actor=walk.cast.art_director)


def move_the_last_day(walk: Steered) -> None:
    book = walk.cast.book
    book.refresh_from_db()
    day = walk.at.date() + timedelta(walk.chance.randrange(20, 200))
    actor = walk.chance.choice([walk.cast.art_director, walk.cast.production])
    change_book(
        book.pk, title=book.title, publisher=book.publisher, final_on=day, reason="The press moved.",
        only=("final_on",), actor=actor,
    )  # fmt: skip


def invoice(walk: Steered) -> None:
    number = Invoice.objects.filter(book=walk.cast.book).count() + 1
    money = Money(Decimal(walk.chance.choice(["9000.00", "150.00", "4500.00"])), "GBP")
    actor = walk.chance.choice([walk.cast.illustrator, walk.cast.agent])
    invoices.tell_invoice(
        walk.cast.book.pk, number=f"J-{number}", name=walk.chance.choice(["All of it", ""]), money=money,
        on=walk.at.date(), actor=actor,
    )  # fmt: skip


def withdraw_an_invoice(walk: Steered) -> None:
    row = walk.one_of(Invoice.objects.filter(book=walk.cast.book))
    invoices.withdraw_invoice(row.pk, "Written twice.", actor=walk.cast.illustrator)


def pay(walk: Steered) -> None:
    """Let either side say that money went or came: the whole, or a part of it."""
    row = walk.one_of(Invoice.objects.filter(book=walk.cast.book))
    part = walk.chance.choice([None, Decimal("50.00"), Decimal("50.00"), Decimal("4450.00")])
    beyond = walk.chance.random() < 0.5
    if walk.chance.random() < 0.5:
        invoices.say_paid(row.pk, walk.at.date(), part, beyond=beyond, actor=walk.cast.art_director)
    else:
        invoices.confirm_payment(row.pk, walk.at.date(), part, beyond=beyond, actor=walk.cast.illustrator)


def take_a_payment_back(walk: Steered) -> None:
    row = walk.one_of(Payment.objects.filter(invoice__book=walk.cast.book))
    actor = walk.chance.choice([walk.cast.art_director, walk.cast.illustrator])
    invoices.withdraw_payment(row.pk, "The wrong line.", actor=actor)


def consent(walk: Steered) -> None:
    """Ask for a round beyond the fee; it is given, declined, given and withdrawn, or left open."""
    cast = walk.cast
    asked = OverConsent.objects.open().filter(passage__book=cast.book, given_at=None).first()
    asked = asked or ask_consent(walk.somewhere().pk, "The moon has to be fuller.", actor=cast.art_director)
    word = walk.chance.choice(["give", "decline", "withdraw", ""])
    if word == "decline":
        decline_consent(asked.passage_id, "Not without a fee.", actor=cast.agent)
    elif word:
        give_consent(asked.passage_id, actor=cast.agent)
    if word == "withdraw":
        withdraw_consent(asked.passage_id, "It was another spread.", actor=cast.agent)


def let_a_proposal_fall(walk: Steered) -> None:
    """A later date is proposed, and declined or taken back: nothing moves."""
    passage = walk.held(PassageState.DRAWING)
    to = add_working_days(passage.due_on, 5, walk.cast.book.calendar)
    made = ask_for_date(passage.pk, to=to, reason="The text came late.", actor=walk.cast.illustrator)
    if made is not None and walk.chance.random() < 0.5:
        decline_proposal(made.pk, "Too late.", actor=walk.cast.art_director)
    elif made is not None:
        withdraw_proposal(made.pk, "A slip.", actor=walk.cast.illustrator)


def object_to_an_approval(walk: Steered) -> None:
    """The editor says no where an approval waits for a second sign-off, or as soon as one does."""
    rows = Passage.objects.live().with_places().filter(book=walk.cast.book, stage__two_voices=True)
    waiting = rows.filter(pending__isnull=False).first()
    if waiting is None:
        waiting = walk.one_of(rows.filter(state=PassageState.ANSWERING))
        walk.write(waiting, "approve")
        waiting.refresh_from_db()
    if waiting.pending_id is None:
        raise Refused("not-now")
    second_voice.object_to(waiting.pending_id, "Not yet.", actor=walk.cast.editor)


BOOK_DEEDS: tuple[Callable[[Steered], None], ...] = (
    change_the_pages,
    change_the_pages,
    change_the_pages,
    change_places,
    change_the_order_of_stages,
    name_a_stage,
    move_the_last_day,
    invoice,
    invoice,
    withdraw_an_invoice,
    pay,
    pay,
    pay,
    take_a_payment_back,
    let_a_proposal_fall,
    let_a_proposal_fall,
    object_to_an_approval,
    *(6 * (consent,)),
)

_DRAFTS = "a draft, which nobody else knows and nothing is counted of"
_WORDS = "words in the house or about a note, of which nothing is counted"
_SEATS = "who sits where, which moves no date and no figure"
_FILES = "the worker's, or of a file; no figure of the contract"
_VOTES = "advice on options, of which nothing is counted"
_PRESS = "of the printed object; no figure of the contract"

#: Every deed that no walk draws, and why.
NOT_DRAWN: dict[Deed, str] = {
    Deed.LAY_OUT: "another layout before work begins; tests/actions/test_layout.py",
    Deed.CONFIRM_TERMS: "only books of before agreements have it: tests/actions/test_confirmed_terms.py",
    Deed.TELL_HOURS: "needs a price by the hour: drawn by tests/rules/random_books.py",
    Deed.AGREE_HOURS: "needs a price by the hour: drawn by tests/rules/random_books.py",
    Deed.HOLD_ROWS: "written once by an upgrade",
    Deed.GIVE_TO_PRINTER: "written once by an upgrade: tests/actions/test_old_proofs.py",
    Deed.TRY_AGAIN: _FILES,
    Deed.REVOKE_INVITATION: _SEATS,
    Deed.END_SEAT: _SEATS,
    Deed.LET_AGENT_ANSWER: _SEATS,
    Deed.ASK_TO_READ: _SEATS,
    Deed.STOP_ASKING: _SEATS,
    Deed.REMOVE_PICTURE: _DRAFTS,
    Deed.ORDER_PICTURES: _DRAFTS,
    Deed.WORD_HAND_IN: _DRAFTS,
    Deed.MAKE_DERIVED: _DRAFTS,
    Deed.DERIVE_PICTURE: _DRAFTS,
    Deed.CHOOSE_DERIVED: _DRAFTS,
    Deed.WORD_LETTER: _DRAFTS,
    Deed.EDIT_NOTE: _WORDS,
    Deed.WITHDRAW_NOTE: _WORDS,
    Deed.RESTORE_NOTE: _WORDS,
    Deed.REPLY: _WORDS,
    Deed.LOOK_OVER: _WORDS,
    Deed.MARK_OPTION: _WORDS,
    Deed.UNMARK_OPTION: _WORDS,
    Deed.WEIGH_NOTE: _WORDS,
    Deed.ANSWER_NOTE: _WORDS,
    Deed.PLACE_NOTE: _WORDS,
    Deed.ADD_REFERENCES: _FILES,
    Deed.REMOVE_REFERENCE: _FILES,
    Deed.READ_REFERENCE: _FILES,
    Deed.OPEN_VOTE: _VOTES,
    Deed.CAST_BALLOT: _VOTES,
    Deed.CLOSE_VOTE: _VOTES,
    Deed.DECIDE_VOTE: _VOTES,
    Deed.SET_PRINT: _PRESS,
    Deed.JUDGE_PROOF: _PRESS,
    Deed.TAKE_ON_FAULT: _PRESS,
    Deed.TELL_PLATE: _PRESS,
    Deed.BRING_PROFILE: _PRESS,
    Deed.SET_TEXT: "the words of a spread; what they change in the art is asked for by a letter",
}
