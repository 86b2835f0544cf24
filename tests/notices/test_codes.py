"""Where the ledger stood leaves the machine with everything that does: by mail, on paper, with the statement."""

import csv
import io
import re

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from reviews.actions._outbox import gather_waiting
from reviews.actions.own_account import choose_mail
from reviews.models import Digest, Notice
from reviews.notices.digests import digest_mail
from reviews.notices.wording import mail_for
from reviews.queries.codes import checked
from reviews.rules.codes import code_of
from reviews.rules.mailing import MailChoice
from reviews.rules.states import Deed, Role
from reviews.tasks.paper import paper_of
from tests.cast import gather, sign_in
from tests.letter_scene import a_round, pinned
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    cast = gather(a_book())
    choose_mail(cast.agent.person, MailChoice.DAILY)
    a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    return cast


@pytest.fixture
def said(cast) -> str:
    """What must stand there: the letter's own line among those that both sides read, and its code."""
    entry = cast.book.entries.get(deed=Deed.SEND_LETTER)
    n = cast.book.entries.filter(sight="all", seq__lte=entry.seq).count()
    assert n < entry.seq, "drafts and notes stand between, and are not counted"
    return f"line {n}, code {code_of(entry.sha256)}"


def text_of(pdf: bytes) -> str:
    pages = (page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf))
    return " ".join(" ".join(pages).split())


def test_the_letters_page_its_mail_and_its_pdf_say_it(cast, said):
    letter = cast.book.letters.get(number=1)
    client = Client()
    sign_in(client, cast.illustrator.person)
    assert said in client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
    assert said in text_of(paper_of(letter))
    mail = mail_for(Notice.objects.get(person=cast.illustrator.person, entry__deed=Deed.SEND_LETTER), paper_of)
    assert said in mail.text and said in mail.html and said in text_of(mail.papers[0][1])
    assert checked(cast.book, Role.ILLUSTRATOR, mail.text).agrees


def test_whoever_has_one_mail_a_day_is_told_it_too(cast, said):
    gather_waiting(cast.agent.person.pk, key="day", day=timezone.now().date(), now=timezone.now())
    mail = digest_mail(Digest.objects.get(person=cast.agent.person))
    assert said in mail.text and said in mail.html


def test_a_mail_of_what_both_sides_read_says_where_it_stands(cast):
    handed = handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, (2,))
    entry = cast.book.entries.get(deed=Deed.HAND_IN, data__hand_in=handed.pk)
    mail = mail_for(Notice.objects.get(person=cast.art_director.person, entry=entry), paper_of)
    assert code_of(entry.sha256) in mail.text and code_of(entry.sha256) in mail.html


@pytest.mark.parametrize("name", ["statement", "statement-paper", "statement-csv", "statement-json"])
def test_the_statement_says_it_in_every_form(cast, said, name):
    client = Client()
    sign_in(client, cast.agent.person)
    answer = client.get(reverse(f"reviews:{name}", args=[cast.book.pk]))
    if name == "statement-json":
        stand = answer.json()["ledger_stands_at"]
        assert f"line {stand['line']}, code {stand['code']}" == said
        assert answer.json()["last_ledger_line"] == int(stand["line"])
    elif name == "statement-csv":
        rows = csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig")))
        assert [row["Value"] for row in rows if row["Figure"] == "was at"] == [said]
    else:
        assert said in (text_of(answer.content) if name == "statement-paper" else answer.content.decode())


def test_what_the_publisher_does_unsent_changes_no_number_the_agent_sees(cast):
    """Asked again and again, no page or file tells when somebody pins a note or weighs one."""
    client = Client()
    sign_in(client, cast.agent.person)
    names = ("statement", "statement-csv", "statement-json", "ledger", "ledger-codes", "account")

    def seen() -> list[str]:
        pages = [client.get(reverse(f"reviews:{name}", args=[cast.book.pk])).content.decode() for name in names]
        # Each form carries words drawn anew each time: one against forgery, one that makes a press count once. And each
        # page tells since when it is to ask for news: since it was read, by the reader's own clock.
        anew = r'(csrf\w+[^>]*|name="press" value="[\w-]+")>|(?<=/news/\?since=)[\w.%-]+'
        return [re.sub(anew, "", page) for page in pages]

    handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, (2,))
    before = seen()
    pinned(cast.passage("Pages 6–7", "ideas"), cast.editor, "Owls have no ears.")
    assert seen() == before
