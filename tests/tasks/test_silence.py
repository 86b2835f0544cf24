"""Silence counts as approval only where the terms say so, after a warning, once, and never over an answer."""

import re
from datetime import UTC, date, datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions import hand_ins
from reviews.actions.clock import as_if_at
from reviews.actions.silence import announce_silence, approve_by_silence
from reviews.actions.taken_faults import take_on_fault
from reviews.actions.taking_back import take_back_letter
from reviews.models import LedgerEntry, Notice, Passage, Picture
from reviews.pages.wording.ledger import sentence
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.statement import export_of
from reviews.rules.contract.recount import count_again, differences, figures
from reviews.rules.contract.terms import StageDays
from reviews.rules.states import Refused
from reviews.tasks import morning
from reviews.tasks.silence import keep_silence
from tests.accounts import statement_of
from tests.actions.test_terms import enter
from tests.cast import gather, sign_in
from tests.letter_scene import answered, approved, draft_of, pinned, sent
from tests.makers import a_book, handed_in
from tests.views.test_stoppers import SMALL, seen
from tests.views.test_stoppers import STAGES as STOPPED

pytestmark = pytest.mark.django_db

STAGES = (StageDays("ideas", 4, 2), StageDays("sketch", 9, 4), StageDays("colour", 12, 5))


def at(day: str, hour: int = 8) -> datetime:
    return datetime.fromisoformat(day).replace(hour=hour, tzinfo=UTC)


def looked(day: str, hour: int = 8) -> int:
    """Let the portal look at a moment, as the sweep and the worker do."""
    with as_if_at(at(day, hour)):
        return keep_silence(at(day, hour))


def entries(cast, deed="approve-by-silence"):
    return list(LedgerEntry.objects.filter(book=cast.book, deed=deed).order_by("seq"))


@pytest.fixture
def cast():
    """Handed in on Tuesday 3 November 2026; five working days of silence end with Tuesday 10 November."""
    with as_if_at(at("2026-11-02", 9)):
        cast = gather(a_book())
        enter(cast, silence_approves_after=5, stages=STAGES)
    with as_if_at(at("2026-11-03", 9)):
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    return cast


@pytest.fixture
def ideas(cast):
    return cast.passage("Pages 4–5", "ideas")


def test_the_art_director_is_warned_three_working_days_ahead_and_once(cast, ideas):
    assert looked("2026-11-04") == 0
    assert looked("2026-11-05", 6) == 0  # not before the morning
    assert looked("2026-11-05") == 1
    assert looked("2026-11-05", 12) == looked("2026-11-06") == 0
    [told] = entries(cast, "announce-silence")
    assert sentence(told.as_entry()) == (
        "The portal warned the publisher: hand-in 1 of Pages 4–5, ideas has no answer, and the terms count it as "
        "approved if none comes by the end of 10 November 2026."
    )
    people = set(Notice.objects.filter(entry=told).values_list("person", flat=True))
    assert people == {cast.art_director.person_id, cast.editor.person_id}


def test_silence_approves_on_the_morning_after_its_day_and_once(cast, ideas):
    looked("2026-11-05")
    assert looked("2026-11-10", 23) == 0
    assert looked("2026-11-11") == 1
    assert looked("2026-11-11", 9) == looked("2026-11-12") == 0
    ideas.refresh_from_db()
    assert (ideas.state, ideas.approved_picture) == ("approved", ideas.hand_in.pictures.get())
    [told] = entries(cast)
    assert (told.role, told.by, told.seat, told.sight) == ("machine", "The portal", None, "all")
    assert sentence(told.as_entry()) == (
        "No answer came to hand-in 1 of Pages 4–5, ideas by the end of 10 November 2026, so the terms count it as "
        "approved."
    )
    people = set(Notice.objects.filter(entry=told).values_list("person", flat=True))
    assert people == {
        seat.person_id for seat in (cast.illustrator, cast.agent, cast.art_director, cast.editor, cast.production)
    }
    assert cast.passage("Pages 4–5", "sketch").state == "drawing"


def test_ledger_statement_and_recount_agree_on_it(cast, ideas):
    looked("2026-11-05")
    looked("2026-11-11")
    assert list(ledger_faults(cast.book)) == []
    statement = statement_of(cast.book, date(2026, 11, 12))
    [line] = [line for line in statement.lines if line.passage == ideas.pk]
    assert [turn.silent_on for turn in line.turns] == [None, date(2026, 11, 10)]
    assert (line.state, line.days.publisher, line.days.publisher_late) == ("approved", 5, 3)
    file = export_of(cast.book, date(2026, 11, 12), at=at("2026-11-12"))
    assert differences(file["figures"], figures(count_again(file))) == []
    assert file["figures"] == figures(statement)


def test_a_statement_of_a_day_before_says_it_was_still_with_the_publisher(cast, ideas):
    looked("2026-11-05")
    before = figures(statement_of(cast.book, date(2026, 11, 10)))
    looked("2026-11-11")
    assert figures(statement_of(cast.book, date(2026, 11, 10))) == before


def test_an_answer_given_meanwhile_counts_and_silence_does_not(cast, ideas):
    looked("2026-11-05")
    with as_if_at(at("2026-11-11", 7)):
        pinned(ideas, cast.art_director)
        answered(cast, ideas, "ask")
        sent(cast)
        with pytest.raises(Refused) as refused:
            approve_by_silence(ideas.pk)
    assert refused.value.code == "not-silent"
    assert looked("2026-11-11") == 0
    ideas.refresh_from_db()
    assert (ideas.state, entries(cast)) == ("drawing", [])


def test_a_draft_letter_that_came_too_late_is_stopped_and_not_sent_over_it(cast, ideas):
    looked("2026-11-05")
    with as_if_at(at("2026-11-10")):
        answered(cast, ideas, "approve")
    assert looked("2026-11-11") == 1
    with as_if_at(at("2026-11-11", 9)), pytest.raises(Refused) as refused:
        sent(cast)
    assert refused.value.code == "not-waiting-for-answer"
    assert draft_of(cast).sent_at is None


def test_a_withdrawn_hand_in_begins_anew(cast, ideas):
    looked("2026-11-05")
    ideas.refresh_from_db()
    with as_if_at(at("2026-11-09")):
        hand_ins.withdraw_hand_in(ideas.hand_in_id, "The wrong file.", actor=cast.illustrator)
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [4])
    assert looked("2026-11-11") == 1  # the warning for the new one: five days from the 9th end on the 16th
    assert [row.data["silent_on"] for row in entries(cast, "announce-silence")] == ["2026-11-10", "2026-11-16"]
    assert looked("2026-11-16") == 0
    assert looked("2026-11-17") == 1


def test_without_a_warning_a_working_day_before_silence_waits(cast, ideas):
    """The portal was switched off over the day: the warning comes first, and leaves one whole working day."""
    assert looked("2026-11-13") == 1
    assert entries(cast) == []
    assert looked("2026-11-16") == 0  # Monday: the day left to answer
    assert looked("2026-11-17") == 1
    [told] = entries(cast)
    assert told.data["silent_on"] == "2026-11-16"


def test_nobody_can_do_it_before_its_time(cast, ideas):
    for deed in (announce_silence, approve_by_silence):
        with as_if_at(at("2026-11-04")), pytest.raises(Refused) as refused:
            deed(ideas.pk)
        assert refused.value.code == "silence-not-yet"


def test_silence_chooses_between_no_options(cast):
    other = cast.passage("Pages 6–7", "ideas")
    with as_if_at(at("2026-11-03", 9)):
        handed_in(other, cast.illustrator, [5, 6])
    looked("2026-11-05")
    looked("2026-11-11")
    other.refresh_from_db()
    assert other.state == "answering"
    assert [row.passage_id for row in entries(cast)] == [cast.passage("Pages 4–5", "ideas").pk]


def test_where_the_terms_are_silent_about_it_nothing_happens(django_assert_num_queries):
    with as_if_at(at("2026-11-02", 9)):
        cast = gather(a_book())
        enter(cast)
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    with django_assert_num_queries(1):
        assert looked("2026-12-20") == 0
    assert LedgerEntry.objects.filter(deed__contains="silence").count() == 0


def test_every_page_stands_after_silence_has_approved(cast, ideas, client):
    looked("2026-11-05")
    for seat in (cast.art_director, cast.illustrator, cast.agent):
        sign_in(client, seat.person)
        account = client.get(reverse("reviews:account", args=[cast.book.pk])).content.decode()
        assert "deemed approved if no reply by 10 Nov 2026" in account
    looked("2026-11-11")
    for seat in (cast.art_director, cast.illustrator, cast.agent):
        sign_in(client, seat.person)
        paths = [reverse(f"reviews:{name}", args=[cast.book.pk]) for name in ("book-map", "account", "schedule")]
        paths += [reverse("reviews:passage", args=[ideas.pk]), reverse("reviews:desk")]
        for path in paths:
            assert client.get(path).status_code == 200, path
        statement = client.get(reverse("reviews:statement", args=[cast.book.pk])).content.decode()
        assert "deemed approved, no reply by 10 Nov 2026, as the terms say" in statement
        ledger = client.get(reverse("reviews:ledger", args=[cast.book.pk])).content.decode()
        assert "so the terms count it as approved" in ledger
        account = client.get(reverse("reviews:account", args=[cast.book.pk])).content.decode()
        assert "number 1, deemed approved, 3 working days late" in account


def test_a_fault_in_looking_at_silence_keeps_no_mail_back(monkeypatch, caplog):
    def fail(now):
        raise ArithmeticError("a day beyond all calendars")

    monkeypatch.setattr(morning, "keep_silence", fail)
    monkeypatch.setattr(morning, "remind", lambda now: 3)
    assert morning.look_at_the_day(timezone.now()) == 3
    assert "the mail goes on" in caplog.text


def test_map_and_table_say_that_silence_approved_and_a_letter_later_did(cast, ideas, client):
    def said(page: str) -> list[str]:
        # The map shows the stage a spread stands at: here the one that silence approved.
        Passage.objects.filter(spread=ideas.spread).exclude(pk=ideas.pk).update(state="closed")
        return re.findall(r"Deemed approved \(no reply\)|Approved(?=</span></span>)", client.get(page).content.decode())

    looked("2026-11-05")
    looked("2026-11-11")
    table, book_map = f"/passages/{ideas.pk}/", f"/books/{cast.book.pk}/"
    for seat in (cast.art_director, cast.illustrator, cast.agent):
        sign_in(client, seat.person)
        assert (said(table), said(book_map)) == (["Deemed approved (no reply)"], ["Deemed approved (no reply)"])
    with as_if_at(at("2026-11-12")):
        pinned(ideas, cast.art_director, cause="direction")
        answered(cast, ideas, "ask")
        sent(cast, over=True)
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [4])
        answered(cast, ideas, "approve")
        sent(cast)
    assert (said(table), said(book_map)) == (["Approved"], ["Approved"])


SILENT = "silence approves this after the end of Tuesday, 10 November 2026"


@pytest.mark.parametrize("role", ["art_director", "illustrator", "agent", "editor"])
def test_the_table_says_from_the_first_day_on_when_silence_approves(client, cast, ideas, role):
    with as_if_at(at("2026-11-04")):
        sign_in(client, getattr(cast, role).person)
        assert SILENT in client.get(reverse("reviews:passage", args=[ideas.pk])).content.decode()
        other = cast.passage("Pages 6–7", "ideas")
        assert "silence approves" not in client.get(reverse("reviews:passage", args=[other.pk])).content.decode()


def test_a_guest_is_told_nothing_of_silence(client, cast, ideas):
    with as_if_at(at("2026-11-04")):
        sign_in(client, cast.invite_guest(ideas).person)
        page = client.get(reverse("reviews:passage", args=[ideas.pk])).content.decode()
    assert "Pages 4–5" in page and "silence approves" not in page


def test_the_draft_letter_says_on_which_spread_silence_runs(client, cast, ideas):
    with as_if_at(at("2026-11-04")):
        sign_in(client, cast.art_director.person)
        page = client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).content.decode()
    assert page.count("deemed approved if no reply by 10 Nov 2026") == 1


def test_nothing_is_said_of_silence_once_an_answer_was_sent(client, cast, ideas):
    with as_if_at(at("2026-11-04")):
        answered(cast, ideas, "approve")
        sent(cast)
        sign_in(client, cast.art_director.person)
        page = client.get(reverse("reviews:passage", args=[ideas.pk])).content.decode()
    assert "silence approves" not in page


@pytest.fixture
def before_a_warning(cast, ideas):
    """A letter goes on Wednesday the 4th, before anybody was warned of silence, and is taken back and sent daily."""
    letter = None
    for day in ("2026-11-04", "2026-11-05", "2026-11-06", "2026-11-09", "2026-11-10"):
        with as_if_at(at(day)):
            if letter is not None:
                take_back_letter(letter.pk, "Not yet.", actor=cast.art_director)
            else:
                pinned(ideas, cast.art_director)
                answered(cast, ideas, "ask")
            letter = sent(cast)
        assert looked(day, 9) == 0
    return letter


def test_sending_and_taking_back_daily_puts_no_silence_off(cast, ideas, before_a_warning):
    """The days run from the hand-in: once they are over, the last letter stands, though nobody could be warned."""
    with as_if_at(at("2026-11-11")):
        with pytest.raises(Refused) as refused:
            take_back_letter(before_a_warning.pk, "Not yet.", actor=cast.art_director)
        assert (refused.value.code, refused.value.values["where"]) == ("letter-silenced", ideas.where)
    assert entries(cast, "announce-silence") == []


def test_a_letter_taken_back_does_not_begin_the_days_of_silence_anew(cast, ideas):
    with as_if_at(at("2026-11-04")):
        pinned(ideas, cast.art_director)
        answered(cast, ideas, "ask")
        letter = sent(cast)
    with as_if_at(at("2026-11-05")):
        take_back_letter(letter.pk, "Not yet.", actor=cast.art_director)
    lines = statement_of(cast.book, date(2026, 11, 5)).lines
    [turn] = [line.turns[-1] for line in lines if line.passage == ideas.pk]
    assert (turn.silence_on, turn.from_on) == (date(2026, 11, 10), date(2026, 11, 3))
    assert looked("2026-11-05", 9) == 1  # the warning comes when it would have come


def test_a_letter_is_not_taken_back_into_silence(cast, ideas):
    """Once its day has passed, what was answered would be approved at the next look, before the right letter can go."""
    looked("2026-11-05")
    with as_if_at(at("2026-11-10")):
        pinned(ideas, cast.art_director)
        answered(cast, ideas, "ask")
        letter = sent(cast)
    with as_if_at(at("2026-11-11", 9)):
        with pytest.raises(Refused) as refused:
            take_back_letter(letter.pk, "The wrong book.", actor=cast.art_director)
        assert (refused.value.code, refused.value.values["where"]) == ("letter-silenced", ideas.where)
    assert entries(cast, "take-back-letter") == []
    with as_if_at(at("2026-11-10", 10)):
        take_back_letter(letter.pk, "The wrong book.", actor=cast.art_director)
    assert looked("2026-11-10", 12) == 0
    assert looked("2026-11-11") == 1


def test_silence_lets_no_proof_go_to_print_over_an_open_stopper_and_warns_of_no_such_thing():
    stages = (*STAGES, StageDays("proof", 9, 4))
    with as_if_at(at("2026-11-02", 9)):
        cast = gather(a_book(inside=STOPPED))
        enter(cast, silence_approves_after=5, stages=stages)
        approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    proof, art = cast.passage("Pages 4–5", "proof"), cast.passage("Pages 4–5", "colour").approved_picture
    Picture.objects.filter(pk=art.pk).update(facts=SMALL)
    with as_if_at(at("2026-11-03", 9)):
        handed_in(proof, cast.production, [2])
    n_mails = Notice.objects.count()
    assert [looked(day) for day in ("2026-11-05", "2026-11-06", "2026-11-11")] == [0, 0, 0]
    assert Notice.objects.count() == n_mails and cast.passage("Pages 4–5", "proof").state == "answering"
    assert entries(cast) == []
    take_on_fault(
        proof.pk, picture_id=art.pk, code="too-few-pixels", seen=seen(proof), reason="Soft.", actor=cast.production
    )
    assert looked("2026-11-12") == 1  # the warning, which leaves a whole day to answer
    assert sum(looked(day) for day in ("2026-11-17", "2026-11-18")) == 1
    assert cast.passage("Pages 4–5", "proof").state == "approved"


def day_named(client, cast, proof) -> list[bool]:
    """Say whether the proof's table, the letter being written and the account name the day of silence."""
    pages = [("passage", proof.pk), ("draft-letter", cast.book.pk), ("account", cast.book.pk)]
    texts = [client.get(reverse(f"reviews:{name}", args=[pk])).content.decode() for name, pk in pages]
    return ["silence approves this" in texts[0], *["deemed approved if no reply" in text for text in texts[1:]]]


def test_no_page_names_a_day_of_silence_while_a_stopper_is_open(client):
    with as_if_at(at("2026-11-02", 9)):
        cast = gather(a_book(inside=STOPPED))
        enter(cast, silence_approves_after=5, stages=(*STAGES, StageDays("proof", 9, 4)))
        approved(cast, cast.passage("Pages 4–5", "colour"), 1)
    proof, art = cast.passage("Pages 4–5", "proof"), cast.passage("Pages 4–5", "colour").approved_picture
    with as_if_at(at("2026-11-03", 9)):
        handed_in(proof, cast.production, [2])
    sign_in(client, cast.art_director.person)
    assert day_named(client, cast, proof) == [True, True, True]
    Picture.objects.filter(pk=art.pk).update(facts=SMALL)
    assert day_named(client, cast, proof) == [False, False, False]
    take_on_fault(
        proof.pk, picture_id=art.pk, code="too-few-pixels", seen=seen(proof), reason="Soft.", actor=cast.production
    )
    assert day_named(client, cast, proof) == [True, True, True]
