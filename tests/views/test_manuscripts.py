"""The pages of a manuscript: brought, broken, moved without scripts, kept; and what hostile posts come to."""

from __future__ import annotations

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from reviews.models import LedgerEntry, SpreadText
from reviews.pages.wording.refusals import REFUSALS
from reviews.queries.text_blocks import texts_of
from reviews.rules.manuscript import MOST_BYTES
from reviews.rules.states import Deed, Role
from tests.cast import gather, sign_in
from tests.makers import a_book
from tests.texts import a_text_block, placed
from tests.word_files import a_body, a_docx, packed

pytestmark = pytest.mark.django_db
TEXT = "Tansy\r\n\r\nPage 4\r\nHush.\r\n\r\nSaid the tarn.\r\nPage 6\r\nThe <b>pail</b>."


@pytest.fixture
def cast(client):
    made = gather(a_book())
    sign_in(client, made.editor.person)
    return made


def address(cast, name: str) -> str:
    return reverse(f"reviews:{name}", args=[cast.book.pk])


def bring(client, cast, words: str = "", file: bytes | None = None, **more):
    files = {"file": SimpleUploadedFile("tansy.docx", file)} if file is not None else {}
    return client.post(address(cast, "break-manuscript"), {"words": words, "language": "en", **files, **more})


def form_of(answer) -> dict[str, str]:
    """Read what the page of the broken text would post."""
    form = answer.context
    return {"words": form["text"], "language": form["language"], "seen": form["page"].seen}


def cells(answer) -> dict[int, tuple[str, ...]]:
    return {
        cell.number: cell.paragraphs for card in answer.context["page"].cards for cell in card.cells if cell.paragraphs
    }


def test_a_pasted_text_is_shown_over_its_pages_and_nothing_is_kept(client, cast):
    answer = bring(client, cast, TEXT)
    shown = answer.content.decode()
    assert cells(answer) == {4: ("Hush.", "Said the tarn."), 6: ("The <b>pail</b>.",)}
    assert (
        "Left out: on no page" in shown and "The &lt;b&gt;pail&lt;/b&gt;." in shown and "Nothing is kept yet" in shown
    )
    assert "6 words on 2 pages." in shown
    assert not SpreadText.objects.exists()


def test_a_file_is_read_and_what_to_know_of_it_is_told(client, cast):
    tracked = packed(
        a_body("<w:p><w:ins><w:r><w:t>Page 4</w:t></w:r></w:ins></w:p><w:p><w:r><w:t>Hush.</w:t></w:r></w:p>")
    )
    answer = bring(client, cast, file=tracked)
    assert cells(answer) == {4: ("Hush.",)} and "tracked changes" in answer.content.decode()
    assert cells(bring(client, cast, file=a_docx("Page 6", "Still."))) == {6: ("Still.",)}


def test_breaks_are_moved_without_scripts_and_then_kept(client, cast):
    posted = form_of(bring(client, cast, TEXT))
    answer = client.post(address(cast, "move-break"), {**posted, "move": "on:4"})
    assert cells(answer) == {4: ("Hush.",), 5: ("Said the tarn.",), 6: ("The <b>pail</b>.",)}
    assert 'value="back:5"' in answer.content.decode()
    kept = client.post(address(cast, "keep-manuscript"), form_of(answer), follow=True).content.decode()
    assert "The text of 2 spreads is placed. The illustrator is told." in kept
    words = {text.spread.label: [one["words"] for one in text.blocks] for text in texts_of(cast.book).values()}
    assert words == {"Pages 4–5": ["Hush.", "Said the tarn."], "Pages 6–7": ["The <b>pail</b>."]}


def test_a_move_that_cannot_be_is_told_and_loses_nothing(client, cast):
    posted = form_of(bring(client, cast, TEXT))
    answer = client.post(address(cast, "move-break"), {**posted, "move": "on:10"})
    assert str(REFUSALS["manuscript-nothing-to-move"]) in answer.content.decode()
    assert form_of(answer)["words"] == posted["words"]


def test_what_stands_already_is_told_before_it_changes(client, cast):
    spread = cast.passage("Pages 4–5", "sketch")
    placed(spread, a_text_block(words="Old words here."), actor=cast.editor)
    placed(cast.passage("Pages 8–9", "sketch"), a_text_block(words="Stays."), actor=cast.editor)
    two = cast.passage("Pages 6–7", "sketch")
    placed(two, a_text_block(words="One."), a_text_block(words="Two."), actor=cast.editor)
    answer = bring(client, cast, TEXT)
    shown = answer.content.decode()
    assert "Changes the words of the block that is here: “Old words here.”" in shown
    assert "Keeps the text that is placed here: “Stays.”" in shown
    assert "2 blocks stand here already" in shown
    refused = client.post(address(cast, "keep-manuscript"), form_of(answer))
    assert refused.status_code == 409 and "2 blocks stand on page 6 already" in refused.content.decode()
    assert texts_of(cast.book)[spread.spread_id].version == 1
    assert cells(refused) == cells(answer)


def test_a_text_placed_since_the_page_was_read_is_not_covered_over(client, cast):
    posted = form_of(bring(client, cast, TEXT))
    placed(cast.passage("Pages 4–5", "sketch"), a_text_block(words="Meanwhile."), actor=cast.art_director)
    refused = client.post(address(cast, "keep-manuscript"), posted)
    assert refused.status_code == 409 and "while you were at it" in refused.content.decode()
    shown = refused.content.decode()
    assert "Pages 4–5: Somebody placed" in shown and "“Meanwhile.”" in shown, "where, and what is there now"
    again = client.post(address(cast, "keep-manuscript"), posted)
    assert again.status_code == 409, "who does not look at it has not begun from it"
    assert client.post(address(cast, "keep-manuscript"), form_of(refused)).status_code == 302
    words = [one["words"] for one in texts_of(cast.book)[cast.passage("Pages 4–5", "sketch").spread_id].blocks]
    assert words == ["Hush.\n\nSaid the tarn."]


def test_a_text_full_of_lines_that_name_no_page_is_told_in_a_few_words(client, cast):
    shown = bring(client, cast, "Page 4\nHush.\n" + "Page 99\n" * 500).content.decode()
    assert shown.count("names no page of this book") == 12 and "There are 488 more remarks like these." in shown


def test_nobody_is_told_where_nobody_sits(client, cast):
    cast.illustrator.ended_at = cast.illustrator.since
    cast.illustrator.save()
    posted = form_of(bring(client, cast, TEXT))
    kept = client.post(address(cast, "keep-manuscript"), posted, follow=True).content.decode()
    assert "Nobody has the illustrator’s seat yet" in kept and "The illustrator is told" not in kept


@pytest.mark.parametrize(
    ("post", "code"),
    [
        ({"words": " "}, "manuscript-empty"),
        ({"words": "a", "file": b"b"}, "manuscript-both"),
        ({"file": b"%PDF-1.7"}, "manuscript-kind"),
        ({"file": b"PK\x03\x04"}, "manuscript-broken"),
        ({"words": "a\0b"}, "manuscript-unreadable"),
        ({"words": "a", "language": "<script>"}, "manuscript-unreadable"),
    ],
)
def test_what_cannot_be_read_is_told_on_the_page_it_was_brought_to(client, cast, post, code):
    answer = bring(client, cast, **post)
    assert answer.status_code == 422 and str(REFUSALS[code])[:40] in answer.content.decode()


def test_a_file_too_large_is_told(client, cast):
    answer = bring(client, cast, file=b"a" * (MOST_BYTES + 1))
    assert answer.status_code == 422 and "larger than 5 MB" in answer.content.decode()


@pytest.mark.parametrize(
    "more",
    [{"seen": "1:x"}, {"seen": "9" * 400}, {"move": "up:4"}, {"move": "on:99999"}, {"words": ""}, {"language": "E!"}],
)
@pytest.mark.parametrize("name", ["move-break", "keep-manuscript"])
def test_a_post_of_nonsense_gets_a_sentence(client, cast, name, more):
    posted = form_of(bring(client, cast, TEXT)) | more
    answer = client.post(address(cast, name), posted)
    shown = answer.content.decode()
    assert answer.status_code == 422 and str(REFUSALS["manuscript-unreadable"]) in shown
    assert not posted["words"] or "Said the tarn." in shown, "what was typed stands in the field again"
    assert not LedgerEntry.objects.filter(deed=Deed.SET_TEXT).exists()


def test_only_who_places_text_finds_the_pages(client, cast):
    for role in (Role.ILLUSTRATOR, Role.AGENT, Role.PRODUCTION):
        sign_in(client, cast.seat(role).person)
        assert client.get(address(cast, "manuscript")).status_code == 403
        assert bring(client, cast, TEXT).status_code == 403
        assert client.post(address(cast, "keep-manuscript"), {"words": TEXT, "language": "en"}).status_code == 403
        brief = client.get(reverse("reviews:book-brief", args=[cast.book.pk])).content.decode()
        assert address(cast, "manuscript") not in brief
    sign_in(client, cast.stranger)
    assert client.get(address(cast, "manuscript")).status_code == 404


def test_the_page_asks_the_database_the_same_number_of_times_however_much_is_placed(
    client, cast, django_assert_max_num_queries
):
    for label in ("Pages 4–5", "Pages 6–7", "Pages 8–9"):
        placed(cast.passage(label, "sketch"), a_text_block(), actor=cast.editor)
    with django_assert_max_num_queries(12):
        answer = bring(client, cast, TEXT)
    assert re.search(r'name="seen" value="\d+:1,\d+:1,\d+:1"', answer.content.decode())
