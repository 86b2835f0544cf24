"""Mails: who is told what, once for each cause, and nothing their seat may not read."""

import html
import re
from email import message_from_bytes, policy

import pypdfium2
import pytest
from django.core import mail as outbox_of
from django.urls import reverse
from django.utils import timezone

from reviews import jobs
from reviews.actions import hand_ins, letters, notes, seats
from reviews.actions.jobs import Claim, claim_job
from reviews.imaging.results import PREVIEW_NAME, THUMB_NAME
from reviews.models import Invitation, Job, LedgerEntry, Notice, Picture, Seat
from reviews.notices import mail as mails
from reviews.notices.wording import SUBJECTS
from reviews.rules.audiences import AUDIENCES
from reviews.rules.states import Deed, Role
from reviews.storage import keep_rendition
from reviews.tasks.mail import send_invitation, send_notice
from reviews.tasks.registry import function_for
from reviews.tasks.runner import run_job
from tests.actions.signed import enter
from tests.cast import gather, sign_in
from tests.letter_scene import ELSEWHERE, a_round, answered, approved, pinned, sent
from tests.makers import a_book, a_jpeg, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


def with_previews(tmp_path, *names: str) -> None:
    """Give every picture a screen preview, as the engine would, and what else is named."""
    for picture in Picture.objects.all():
        for name in (PREVIEW_NAME, *names):
            path = tmp_path / name
            path.write_bytes(a_jpeg(1, (2048, 1036)))
            keep_rendition(picture.sha256, path)
    Picture.objects.update(has_preview=True)


def claim_of(kind: str, subject: int) -> Claim:
    claim = claim_job(Job.objects.get(kind=kind, subject_id=subject).pk)
    assert claim is not None
    return claim


def mailed(person, entry):
    """Send one person's mail about one entry; return it as it goes over the wire, or nothing."""
    notice = Notice.objects.get(entry=entry, person=person)
    before = len(outbox_of.outbox)
    send_notice(claim_of(jobs.MAIL, notice.pk))
    new = outbox_of.outbox[before:]
    return message_from_bytes(new[0].message().as_bytes(), policy=policy.default) if new else None


def words_of(message) -> str:
    return message.get_body(("plain",)).get_content() + message.get_body(("html",)).get_content()


@pytest.fixture
def sent_letter(cast, tmp_path):
    """A letter with one note let through, reworded, and one held back."""
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    with_previews(tmp_path)
    going = pinned(ideas, cast.editor, "Wrong way round!")
    letters.weigh_note(going.pk, weighing="through", letter_words="Turn her head.", actor=cast.art_director)
    notes.reply(going.pk, "I would have left it.", actor=cast.production)
    held = pinned(ideas, cast.production, "Frankly dull.", region=ELSEWHERE)
    letters.weigh_note(held.pk, weighing="held", actor=cast.art_director)
    letters.word_letter(cast.book.pk, "Dear Juniper,\n\nwhat light!", actor=cast.art_director)
    answered(cast, ideas, "ask")
    return sent(cast)


@pytest.mark.parametrize("has_terms", [False, True])
def test_a_letter_in_a_mail_says_what_it_costs_as_its_page_and_its_paper_do(cast, client, tmp_path, has_terms):
    if has_terms:
        enter(cast)
    letter = a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    message = mailed(cast.illustrator.person, letter_entry())
    sign_in(client, cast.illustrator.person)
    page = client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    counted = "Counted by version 1 of the terms." if has_terms else "since no terms were entered"
    for kind in ("plain", "html"):
        said = html.unescape(" ".join(message.get_body((kind,)).get_content().split()))
        assert "What it costs" in said and counted in said
        told = re.search(r"Pages 4–5, ideas: (round 1 of the \d in the fee); extra fee: none; due again ([^;]+);", said)
        assert told, said
        for words in told.groups():
            assert words.casefold() in page.casefold()
        assert "Check every figure against the signed contract" in said


def test_a_letter_that_only_approves_says_nothing_of_cost(cast):
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    assert "What it costs" not in words_of(mailed(cast.illustrator.person, letter_entry()))


def test_an_approving_letter_shows_by_mail_and_on_paper_which_option_it_is_with_day_and_fingerprint(cast, tmp_path):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator, [1, 2])
    with_previews(tmp_path, THUMB_NAME)
    chosen = ideas.hand_ins.get().pictures.get(position=2)
    letters.set_answer(ideas.pk, answer="approve", picture_id=chosen.pk, actor=cast.art_director)
    letter = sent(cast)
    message = mailed(cast.illustrator.person, letter_entry())
    [paper] = message.iter_attachments()
    document = pypdfium2.PdfDocument(paper.get_content())
    on_paper = "".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    day = f"{timezone.localtime(letter.sent_at):%-d %B %Y}"
    for said in (message.get_body((kind,)).get_content() for kind in ("plain", "html")):
        assert "option 2" in said and chosen.sha256 in said and day in said
        assert said.index("option 2") < said.index("contract"), "the good news comes before the cautions"
    assert "option 2" in on_paper and chosen.sha256 in "".join(on_paper.split()) and day in on_paper
    [picture] = [part for part in message.walk() if part.get_content_type() == "image/jpeg"]
    assert picture["Content-ID"].strip("<>") == f"approved-{ideas.pk}@roughproof"


def letter_entry():
    return LedgerEntry.objects.filter(deed=Deed.SEND_LETTER).last()


def test_whoever_is_told_of_a_deed_reads_what_it_is_in_the_subject():
    told = {deed for deed, roles in AUDIENCES.items() if roles}
    assert told <= set(SUBJECTS)


def test_every_kind_of_mail_has_its_function():
    assert function_for(jobs.MAIL) is send_notice
    assert function_for(jobs.INVITATION) is send_invitation


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT, Role.EDITOR, Role.PRODUCTION])
def test_a_letter_goes_with_its_marked_places_and_its_pdf_and_nothing_of_the_house(cast, sent_letter, role):
    message = mailed(cast.seat(role).person, letter_entry())
    assert message["To"] == cast.seat(role).person.email
    assert message["Subject"] == f"Letter 1 · {cast.book.title}"
    said = words_of(message)
    for words in ("Turn her head.", "what light!", reverse("reviews:letter", args=[sent_letter.pk]), "contract"):
        assert words in said
    for words in ("Wrong way round!", "Frankly dull.", "I would have left it."):
        assert words not in said
    [picture] = [part for part in message.walk() if part.get_content_type() == "image/jpeg"]
    assert f'src="cid:{picture["Content-ID"].strip("<>")}"' in message.get_body(("html",)).get_content()
    assert picture.get_content().startswith(b"\xff\xd8")
    [paper] = message.iter_attachments()
    assert (paper.get_filename(), paper.get_content()[:5]) == ("letter 1.pdf", b"%PDF-")


def test_a_mail_is_noted_as_sent_and_not_sent_again(cast, sent_letter):
    notice = Notice.objects.get(entry=letter_entry(), person=cast.agent.person)
    claim = claim_of(jobs.MAIL, notice.pk)
    send_notice(claim)
    notice.refresh_from_db()
    assert notice.sent_at is not None
    assert Job.objects.get(pk=claim.job_id).state == "done"
    send_notice(claim)
    assert len(outbox_of.outbox) == 1


def test_a_worker_killed_after_handing_it_over_sends_it_under_the_same_id(cast, sent_letter, monkeypatch):
    notice = Notice.objects.get(entry=letter_entry(), person=cast.agent.person)
    monkeypatch.setattr("reviews.tasks.mail.notice_sent", lambda *killed: None)
    claim = claim_of(jobs.MAIL, notice.pk)
    send_notice(claim)
    send_notice(claim)
    one, two = outbox_of.outbox
    assert one.message()["Message-ID"] == two.message()["Message-ID"] != ""


def test_no_two_mails_share_an_id(cast, sent_letter):
    for job in Job.objects.filter(kind__in=[jobs.MAIL, jobs.INVITATION]):
        assert run_job(job.pk)
    ids = [sent.message()["Message-ID"] for sent in outbox_of.outbox]
    assert len(ids) == len(set(ids)) > 5


def test_a_mail_that_cannot_be_handed_over_is_tried_again(cast, sent_letter, monkeypatch):
    notice = Notice.objects.get(entry=letter_entry(), person=cast.agent.person)
    job = Job.objects.get(kind=jobs.MAIL, subject_id=notice.pk)

    def refuse(mail):
        raise ConnectionRefusedError

    monkeypatch.setattr("reviews.tasks.mail.send", refuse)
    run_job(job.pk)
    job.refresh_from_db(), notice.refresh_from_db()
    assert (job.state, notice.sent_at) == ("queued", None)


def test_whoever_left_the_book_is_written_to_no_more(cast, sent_letter):
    seats.end_seat(cast.agent.pk, actor=cast.illustrator)
    assert mailed(cast.agent.person, letter_entry()) is None


def test_what_a_seat_may_not_read_is_not_mailed_to_it(cast, sent_letter):
    """A note of what the publisher's side alone may read, owed by mistake to the illustrator, stays unsent."""
    weighed = LedgerEntry.objects.filter(deed=Deed.WEIGH_NOTE).first()
    notice = Notice.objects.create(entry=weighed, person=cast.illustrator.person)
    jobs.enqueue(jobs.MAIL, notice.pk)
    assert mailed(cast.illustrator.person, weighed) is None


def test_a_hidden_stage_is_mailed_to_nobody_of_the_publisher(cast):
    """Ink is the studio's own at this plan: handing it in is no news for the publisher."""
    ink = cast.passage("Pages 4–5", "ink")
    ink.state = "drawing"
    ink.save()
    handed_in(ink, cast.illustrator)
    entry = LedgerEntry.objects.filter(deed=Deed.HAND_IN).last()
    for notice in Notice.objects.filter(entry=entry):
        assert mailed(notice.person, entry) is None


def test_a_hand_in_is_told_with_its_date_and_its_link(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    message = mailed(cast.art_director.person, LedgerEntry.objects.get(deed=Deed.HAND_IN))
    assert message["Subject"] == f"Handed in: Pages 4–5, ideas · {cast.book.title}"
    said = words_of(message)
    assert "Juniper Aldersea handed in number 1 of Pages 4–5, ideas: 1 picture." in said
    assert reverse("reviews:passage", args=[ideas.pk]) in said


def test_a_letter_survives_a_real_mail_server(cast, sent_letter, settings, mail_catcher):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", mail_catcher.port
    notice = Notice.objects.get(entry=letter_entry(), person=cast.illustrator.person)
    send_notice(claim_of(jobs.MAIL, notice.pk))
    [message] = mail_catcher.mails
    assert message["Subject"] == f"Letter 1 · {cast.book.title}"
    assert "Turn her head." in words_of(message)
    [paper] = message.iter_attachments()
    assert paper.get_content().rstrip().endswith(b"%%EOF")


def test_words_with_markup_in_them_stay_words(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed = handed_in(ideas, cast.illustrator)
    hand_ins.withdraw_hand_in(handed.pk, "<b>wrong</b> & old", actor=cast.illustrator)
    message = mailed(cast.art_director.person, LedgerEntry.objects.get(deed=Deed.WITHDRAW_HAND_IN))
    assert "<b>wrong</b> & old" in message.get_body(("plain",)).get_content()
    assert "&lt;b&gt;wrong&lt;/b&gt; &amp; old" in message.get_body(("html",)).get_content()


def test_a_title_with_a_line_break_breaks_no_header(cast):
    cast.book.title = "The Otter\nBcc: everybody@elsewhere.example"
    cast.book.save()
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    message = mailed(cast.art_director.person, LedgerEntry.objects.get(deed=Deed.HAND_IN))
    assert message["Bcc"] is None
    assert "The Otter Bcc:" in message["Subject"]


def test_an_invitation_carries_a_link_that_works(cast, client):
    invitation = seats.invite(
        cast.book.pk, email="new@thimblereed.example", name="Nell Ashgrove", role=Role.EDITOR, actor=cast.art_director
    )
    send_invitation(claim_of(jobs.INVITATION, invitation.pk))
    [sent_mail] = outbox_of.outbox
    address = mails.link("invitation", invitation.secret)
    assert sent_mail.to == ["new@thimblereed.example"]
    assert address in words_of(message_from_bytes(sent_mail.message().as_bytes(), policy=policy.default))
    seats.take_seat(address.rstrip("/").rpartition("/")[2], name="Nell Ashgrove", password="a pail of still water")
    assert Seat.objects.filter(person__email="new@thimblereed.example", role=Role.EDITOR).exists()


def test_an_invitation_taken_back_meanwhile_is_not_mailed(cast):
    invitation = seats.invite(
        cast.book.pk, email="new@thimblereed.example", name="Nell Ashgrove", role=Role.EDITOR, actor=cast.art_director
    )
    seats.revoke_invitation(invitation.pk, actor=cast.art_director)
    send_invitation(claim_of(jobs.INVITATION, invitation.pk))
    assert outbox_of.outbox == []


def test_a_guest_is_told_that_no_account_is_needed(cast):
    cast.invite_guest(cast.passage("Cover", "ideas"))
    invitation = Invitation.objects.get(role=Role.GUEST)
    invitation.used_at = None
    from reviews.notices.invitations import invitation_mail

    mail = invitation_mail(invitation)
    assert "You need no account" in mail.text
    assert "Cover, ideas" in mail.text
