"""Dropped, added and brought-back spreads as both sides meet them: on pages, in mail and in the calendar."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions._outbox import gather_waiting
from reviews.actions.book_notes import answer_on_spreads
from reviews.actions.briefs import change_brief
from reviews.actions.feeds import make_calendar_link
from reviews.actions.notes import answer_note, reply
from reviews.actions.own_account import choose_mail
from reviews.actions.page_changes import ask_for_pages
from reviews.actions.proposals import accept_proposal
from reviews.models import Digest, LedgerEntry, Notice, Passage, Proposal, Seat, Spread
from reviews.notices.digests import digest_mail
from reviews.notices.wording import mail_for
from reviews.pages.calendar_feed import calendar_of
from reviews.rules.contract.terms import Instalment, Milestone
from reviews.rules.mailing import MailChoice
from reviews.rules.page_changes import PageDeed, WantedPages
from reviews.rules.states import Deed, Role
from tests.actions.signed import enter
from tests.actions.test_whole_notes import whole
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import a_round, answered, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db
SKETCHES = (Instalment(name="Sketches", falls=Milestone.HAND_IN, stage="sketch", share=Decimal(100)),)
WHY = "The middle is too long."


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


def page(client, seat, name, *args, status=200) -> str:
    sign_in(client, seat.person)
    answer = client.get(reverse(f"reviews:{name}", args=args))
    assert answer.status_code == status, answer.status_code
    return answer.content.decode()


def posted(client, seat, name, pk, **form) -> str:
    sign_in(client, seat.person)
    return client.post(reverse(f"reviews:{name}", args=[pk]), form, follow=True).content.decode()


def spread(cast, label="Pages 6–7") -> Spread:
    return Spread.objects.get(book=cast.book, label=label)


def dropped(cast, label="Pages 6–7") -> Spread:
    """Drop a spread as both sides agree."""
    wanted = WantedPages(what=PageDeed.DROP, spread=spread(cast, label).pk)
    made = ask_for_pages(cast.book.pk, wanted, WHY, actor=cast.art_director)
    if made is not None:
        accept_proposal(made.pk, actor=cast.illustrator)
    return spread(cast, label)


def test_before_any_hand_in_it_is_done_on_the_page_and_undone_there(client, cast):
    text = page(client, cast.art_director, "plan", cast.book.pk)
    assert "No terms are agreed and nothing is begun yet" in text and "Propose to drop it" not in text
    text = posted(
        client, cast.art_director, "change-pages", cast.book.pk, what="drop", spread=spread(cast).pk, reason=WHY
    )
    assert "The pages are changed." in text and "Free pages, without art: Pages 6–7." in text
    assert "Dropped spreads" in text
    form = {"what": "back", "spread": spread(cast).pk, "place": "6-7", "reason": "It is missed."}
    text = posted(client, cast.art_director, "change-pages", cast.book.pk, **form)
    assert "Dropped spreads" not in text and "Free pages" not in text


def test_once_terms_are_agreed_the_page_proposes_and_does_not_do_it(client, cast):
    enter(cast)
    text = page(client, cast.art_director, "plan", cast.book.pk)
    assert "Terms are agreed or work has begun" in text and "Propose another number of pages" in text
    text = posted(client, cast.art_director, "change-pages", cast.book.pk, what="count", n_pages=20, reason=WHY)
    assert "is made. Until the other side agrees, the pages stay as they are." in text, text[text.find("strip") :][:400]
    assert "The pages are changed." not in text
    cast.book.refresh_from_db()
    assert cast.book.n_pages == 16


def test_proposed_read_and_agreed_to_on_the_pages_of_both(client, cast):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    assert "Propose to drop it" in page(client, cast.illustrator, "plan", cast.book.pk), "either side may propose it"
    text = posted(
        client, cast.art_director, "change-pages", cast.book.pk, what="drop", spread=spread(cast).pk, reason=WHY
    )
    assert "Proposal 1 is made. Until the other side agrees, the pages stay as they are." in text
    assert "The other side waits for your word on 1 proposal." in page(client, cast.illustrator, "desk")
    text = page(client, cast.illustrator, "proposals", cast.book.pk)
    assert "To drop Pages 6–7" in text and "Art, notes and history are kept" in text and WHY in text
    assert "No amount of the terms changes by it." in text and "check the signed contract" in text
    made = Proposal.objects.get()
    assert "You agreed to proposal 1." in posted(client, cast.illustrator, "accept-proposal", made.pk)
    for seat in (cast.art_director, cast.illustrator, cast.agent):
        ledger = page(client, seat, "ledger", cast.book.pk)
        assert "agreed to what Corvin Mallowe proposed" in ledger and "Pages 6–7 is dropped" in ledger and WHY in ledger


@pytest.mark.parametrize("who", ["editor", "production"])
def test_who_speaks_for_no_side_neither_sees_the_forms_nor_sends_them(client, cast, who):
    seat = getattr(cast, who)
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    assert "Propose to drop it" not in page(client, seat, "plan", cast.book.pk)
    sign_in(client, seat.person)
    form = {"what": "drop", "spread": spread(cast).pk, "reason": WHY}
    assert client.post(reverse("reviews:change-pages", args=[cast.book.pk]), form).status_code == 403
    assert not Proposal.objects.exists()


@pytest.mark.parametrize(
    "form",
    [{}, {"what": "burn"}, {"what": "drop"}, {"what": "drop", "spread": "x"}, {"what": "add", "place": "6"},
     {"what": "add", "place": "6-7", "reason": WHY}, {"what": "count", "n_pages": "0", "reason": WHY},
     {"what": "count", "n_pages": "22", "reason": WHY}, {"what": "back", "spread": "1", "place": "6-7"}],
)  # fmt: skip
def test_a_form_that_cannot_be_is_answered_with_a_sentence(client, cast, form):
    sign_in(client, cast.art_director.person)
    answer = client.post(reverse("reviews:change-pages", args=[cast.book.pk]), form, follow=True)
    assert answer.status_code == 200 and 'class="strip error"' in answer.content.decode()
    assert not LedgerEntry.objects.filter(deed=Deed.REPAGE).exists()


def test_what_was_dropped_is_asked_for_nowhere(client, cast):
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(passage, cast.illustrator)
    for name in ("desk", "book-map", "schedule", "draft-letter", "account"):
        args = [] if name == "desk" else [cast.book.pk]
        assert "Pages 6–7" in page(client, cast.art_director, name, *args), name
    dropped(cast)
    for seat in (cast.art_director, cast.illustrator, cast.agent):
        names = ("desk", "book-map", "schedule", "draft-letter", "delivery")
        for name in names:
            sign_in(client, seat.person)
            answer = client.get(reverse(f"reviews:{name}", args=[] if name == "desk" else [cast.book.pk]))
            text = answer.content.decode().partition("Free pages")[0]
            asked = text if name != "book-map" else text.replace("Pages 6–7: no art", "")
            assert answer.status_code in (200, 403, 409) and "Pages 6–7" not in asked, (seat.role, name)


def test_its_art_and_notes_are_read_on_a_page_of_its_own_by_whoever_read_them(client, cast):
    passage = cast.passage("Pages 6–7", "ideas")
    a_round(cast, passage, 1)
    handed_in(passage, cast.illustrator, [2])
    pinned(passage, cast.editor, "Far too many birds.")
    gone = dropped(cast)
    text = page(client, cast.art_director, "dropped-spread", gone.pk)
    assert "Version 1" in text and "Version 2" in text and "Change 1." in text and "Far too many birds." in text
    assert text.count("not sent") == 1
    text = page(client, cast.illustrator, "dropped-spread", gone.pk)
    assert "not sent" not in text
    assert "Change 1." in text and "Far too many birds." not in text, "an unsent note is the publisher's own"
    sign_in(client, cast.illustrator.person)
    answer = client.get(reverse("reviews:passage", args=[passage.pk]))
    assert answer.url == reverse("reviews:dropped-spread", args=[gone.pk]), "an old address leads there"
    sign_in(client, cast.stranger)
    for name, pk in (("dropped-spread", gone.pk), ("passage", passage.pk)):
        assert client.get(reverse(f"reviews:{name}", args=[pk])).status_code == 404


def test_its_page_keeps_what_was_answered_and_replied_the_letter_and_the_brief(client, cast):
    change_brief(cast.book.pk, spread(cast).pk, {"art": "Rain from the left."}, seen=0, actor=cast.art_director)
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(passage, cast.illustrator)
    note = pinned(passage, cast.editor, "Far too many birds.")
    reply(note.pk, "The author agrees.", actor=cast.art_director)
    answered(cast, passage, "ask")
    letter = sent(cast)
    answer_note(note.pk, response="not_done", words="They count the days.", actor=cast.illustrator)
    reply(note.pk, "Then four of them.", actor=cast.art_director)
    gone = dropped(cast)
    for seat in (cast.art_director, cast.illustrator, cast.agent):
        text = page(client, seat, "dropped-spread", gone.pk)
        assert "They count the days." in text and "Then four of them." in text and "Rain from the left." in text
        assert reverse("reviews:letter", args=[letter.pk]) in text
        assert f"Proposed by {cast.art_director.person.name} on" in text and f"Why: {WHY}" in text
        assert f"agreed to by {cast.illustrator.person.name}" in text
        assert ("The author agrees." in text) == (seat == cast.art_director), "said before the letter, among the house"
    designer = cast.seat_advisers()[Role.DESIGNER]
    text = page(client, designer, "dropped-spread", gone.pk)
    assert "They count the days." in text and reverse("reviews:letter", args=[letter.pk]) not in text


def test_its_page_keeps_what_was_answered_to_a_note_on_the_book_for_it_alone(client, cast):
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(passage, cast.illustrator)
    note = whole(passage, cast.editor)
    answered(cast, passage, "ask")
    sent(cast)
    answer_on_spreads(
        note.pk, response="not_done", words="It is night.", spreads=[passage.spread_id], actor=cast.illustrator
    )
    gone = dropped(cast)
    for seat in (cast.art_director, cast.illustrator):
        assert "Answer: Not done, on this spread: It is night." in page(client, seat, "dropped-spread", gone.pk)


def test_that_an_answer_not_sent_is_taken_out_is_said_before_it_is(client, cast):
    said = "in a letter that is not sent yet"
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    for seat in (cast.art_director, cast.illustrator):
        assert said in page(client, seat, "plan", cast.book.pk)
    wanted = WantedPages(what=PageDeed.DROP, spread=spread(cast).pk)
    ask_for_pages(cast.book.pk, wanted, WHY, actor=cast.art_director)
    for seat in (cast.art_director, cast.illustrator):
        assert said in page(client, seat, "proposals", cast.book.pk)


def test_a_guest_whose_spread_was_dropped_is_told_so(client, cast):
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(passage, cast.illustrator)
    guest = cast.invite_guest(passage)
    dropped(cast)
    assert "was dropped from the book meanwhile" in page(client, guest, "passage", passage.pk, status=409)


def test_a_note_in_the_draft_letter_is_not_lost(client, cast):
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(passage, cast.illustrator)
    note = pinned(passage, cast.editor, "Far too many birds.")
    answered(cast, passage, "ask")
    assert "Far too many birds." in page(client, cast.art_director, "draft-letter", cast.book.pk)
    gone = dropped(cast)
    assert "Far too many birds." not in page(client, cast.art_director, "draft-letter", cast.book.pk)
    wanted = WantedPages(what=PageDeed.BACK, spread=gone.pk, first_page=6, last_page=7)
    made = ask_for_pages(cast.book.pk, wanted, WHY, actor=cast.illustrator)
    accept_proposal(made.pk, actor=cast.art_director)
    assert "Far too many birds." in page(client, cast.art_director, "draft-letter", cast.book.pk)
    note.refresh_from_db()
    assert note.state == "unsent"


def test_a_note_on_the_whole_book_stays_in_the_draft_letter_and_is_answered_on_the_sent_one(client, cast):
    passage, other = cast.passage("Pages 6–7", "ideas"), cast.passage("Pages 8–9", "ideas")
    for each, seed in ((passage, 1), (other, 2)):
        handed_in(each, cast.illustrator, [seed])
    sent_one = whole(passage, cast.editor, "Her coat is red.")
    answered(cast, passage, "ask")
    letter = sent(cast)
    handed_in(passage, cast.illustrator, [3])
    whole(passage, cast.editor, "The scarf is blue.")
    dropped(cast)
    assert "The scarf is blue." in page(client, cast.art_director, "draft-letter", cast.book.pk)
    text = page(client, cast.illustrator, "letter", letter.pk)
    assert "Her coat is red." in text and reverse("reviews:answer-note", args=[sent_one.pk]) in text
    posted(client, cast.illustrator, "answer-note", sent_one.pk, response="done", words="")
    sent_one.refresh_from_db()
    assert sent_one.response == "done"
    for seat in (cast.art_director, cast.editor, cast.illustrator):
        page(client, seat, "passage", other.pk)


def test_the_mail_says_what_was_done_and_leads_to_the_pages(cast):
    dropped(cast)
    entry = LedgerEntry.objects.get(deed=Deed.REPAGE)
    notice = Notice.objects.select_related("entry__book", "entry__passage", "person").get(
        entry=entry, person=cast.illustrator.person
    )
    mail = mail_for(notice, lambda letter: b"")
    assert "Spreads were dropped or added" in mail.subject
    assert "Pages 6–7 is dropped" in mail.text and reverse("reviews:plan", args=[cast.book.pk]) in mail.text


def test_a_mail_tells_of_money_only_to_whoever_sees_the_terms(cast):
    enter(cast, instalments=SKETCHES)
    seats = {**cast.seat_advisers(), **{Role(seat.role): seat for seat in Seat.objects.filter(book=cast.book)}}
    dropped(cast)
    entry = LedgerEntry.objects.get(deed=Deed.REPAGE)
    assert entry.data["instalments"], "the instalment waits for one spread less"
    told = {}
    for notice in Notice.objects.select_related("entry__book", "entry__passage", "person").filter(entry=entry):
        role = next(role for role, seat in seats.items() if seat.person_id == notice.person_id)
        mail = mail_for(notice, lambda letter: b"")
        assert "Pages 6–7 is dropped" in mail.text and WHY in mail.text
        told[role] = "“Sketches”" in mail.text + mail.html
        assert told[role] or "of the terms" not in mail.text + mail.html
    assert told == {
        Role.ART_DIRECTOR: True, Role.AGENT: True, Role.EDITOR: True, Role.PRODUCTION: True, Role.DESIGNER: False,
    }  # fmt: skip


def test_a_gathered_mail_tells_a_designer_nothing_of_money_either(cast):
    enter(cast, instalments=SKETCHES)
    designer = cast.seat_advisers()[Role.DESIGNER]
    choose_mail(designer.person, MailChoice.DAILY)
    choose_mail(cast.editor.person, MailChoice.DAILY)
    dropped(cast)
    said = {}
    for seat in (designer, cast.editor):
        now = timezone.now()
        assert gather_waiting(seat.person_id, key=f"day {seat.pk}", day=now.date(), now=now)
        digest = Digest.objects.get(person=seat.person)
        said[seat.role] = digest_mail(digest).text
        assert "Pages 6–7 is dropped" in said[seat.role]
    assert "“Sketches”" in said[Role.EDITOR] and "“Sketches”" not in said[Role.DESIGNER]


def test_a_calendar_learns_that_nothing_is_due_and_of_the_new_date_once_it_is_back(cast):
    secret = make_calendar_link(cast.illustrator.person).secret

    def told():
        feed = calendar_of(secret, timezone.now()).replace("\r\n ", "")
        events = {}
        for event in feed.split("BEGIN:VEVENT")[1:]:
            lines = dict(line.partition(":")[::2] for line in event.splitlines() if ":" in line)
            if "Pages 6–7" in lines["SUMMARY"]:
                events[lines["UID"]] = (lines.get("STATUS"), int(lines["SEQUENCE"]))
        return events

    before = told()
    assert before and not any(status == "CANCELLED" for status, _ in before.values())
    gone = dropped(cast)
    after = told()
    assert after.keys() == before.keys() and all(status == "CANCELLED" for status, _ in after.values())
    assert all(after[uid][1] > before[uid][1] for uid in before)
    wanted = WantedPages(what=PageDeed.BACK, spread=gone.pk, first_page=6, last_page=7)
    ask_for_pages(cast.book.pk, wanted, WHY, actor=cast.art_director)
    again = told()
    assert again.keys() == before.keys() and not any(status == "CANCELLED" for status, _ in again.values())
    assert all(again[uid][1] > after[uid][1] for uid in before)


def test_the_statement_shows_the_dropped_spread_in_its_sums_and_says_that_it_is_dropped(client, cast):
    a_round(cast, cast.passage("Pages 6–7", "ideas"), 1)
    dropped(cast)
    for seat in (cast.agent, cast.art_director):
        text = page(client, seat, "statement", cast.book.pk)
        assert "Pages 6–7, dropped" in text


def test_a_spread_added_is_on_the_desk_of_who_draws_it(client, cast):
    dropped(cast)
    made = ask_for_pages(
        cast.book.pk, WantedPages(what=PageDeed.ADD, first_page=6, last_page=7), WHY, actor=cast.art_director
    )
    assert made is None and "Pages 6–7" in page(client, cast.illustrator, "desk")
    assert Passage.objects.live().filter(spread__label="Pages 6–7").count() == 5
