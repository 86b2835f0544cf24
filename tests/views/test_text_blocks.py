"""The text on the pages: who places it, who is told, and what a change after an approved sketch comes to."""

from __future__ import annotations

import json
import re

import pytest
from django.urls import reverse

from reviews.actions import second_voice
from reviews.actions.text_blocks import set_text
from reviews.models import Book, LedgerEntry, Notice, Picture, SpreadText
from reviews.notices.wording import mail_for
from reviews.pages.wording.ledger import sentence
from reviews.press.text_blocks import Face, TextAlign
from reviews.queries.held_check import check_held
from reviews.queries.print_set_ups import print_of
from reviews.queries.text_blocks import newest_texts, texts_of
from reviews.rules.states import Deed, Refused, Role
from tests.briefs import written
from tests.cast import gather, sign_in
from tests.letter_scene import approved
from tests.makers import a_book, handed_in
from tests.refusing import refusal
from tests.texts import a_text_block, placed, posted
from tests.views.test_print_set_up import PAPER, send

pytestmark = pytest.mark.django_db
WORDS = "Hush, said the tarn."


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def sketch(cast):
    return cast.passage("Pages 4–5", "sketch")


def page(client, seat, passage) -> str:
    sign_in(client, seat.person)
    answer = client.get(reverse("reviews:spread-text", args=[passage.spread_id]))
    assert answer.status_code == 200
    return answer.content.decode()


def post(client, passage, *blocks, name: str = "set-text", **more):
    return client.post(reverse(f"reviews:{name}", args=[passage.spread_id]), posted(*blocks, **more))


def settled(cast, passage) -> None:
    """Have ideas and sketch approved, the sketch by both voices."""
    approved(cast, cast.passage(passage.spread.label, "ideas"), 1)
    approved(cast, passage, 2)
    second_voice.agree(passage.hand_ins.get().pk, actor=cast.editor)


def told(seat) -> list[Notice]:
    return list(Notice.objects.filter(person=seat.person, entry__deed=Deed.SET_TEXT))


@pytest.mark.parametrize("role", [Role.EDITOR, Role.ART_DIRECTOR, Role.DESIGNER])
def test_editor_art_director_and_designer_place_it_and_the_ledger_keeps_every_word(cast, sketch, role):
    actor = cast.seat_advisers()[role] if role == Role.DESIGNER else cast.seat(role)
    text = placed(sketch, actor=actor)
    entry = LedgerEntry.objects.latest("seq")
    assert entry.data["blocks"] == text.blocks and text.blocks[0]["words"] == WORDS
    assert sentence(entry.as_entry()) == f"{actor.person.name} placed the text of Pages 4–5: block 1 added."
    assert check_held(cast.book).faults == []


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT, Role.PRODUCTION])
def test_others_read_it_and_find_no_form(client, cast, sketch, role):
    placed(sketch, actor=cast.editor)
    shown = page(client, cast.seat(role), sketch)
    assert WORDS in shown and "data-text-form" not in shown
    assert post(client, sketch, a_text_block(words="Mine.")).status_code == 403
    assert post(client, sketch, a_text_block(words="Mine."), name="break-text").status_code == 403
    with pytest.raises(Refused, match="not-yours"):
        placed(sketch, actor=cast.seat(role))
    assert SpreadText.objects.count() == 1


def test_who_sees_no_brief_has_no_such_page(client, cast, sketch):
    placed(sketch, actor=cast.editor)
    sign_in(client, cast.seat_advisers()[Role.SALES].person)
    assert client.get(reverse("reviews:spread-text", args=[sketch.spread_id])).status_code == 403


def test_a_page_posted_is_what_stands_and_is_read_back_into_its_form(client, cast, sketch):
    sign_in(client, cast.editor.person)
    block = a_text_block(face=Face.SANS_BOLD, align=TextAlign.CENTRE, colour="#f0e9d2", language="cy", size_pt=21.5)
    assert post(client, sketch, block).status_code == 302
    shown = page(client, cast.editor, sketch)
    assert 'value="21.5"' in shown and 'value="cy"' in shown and 'value="#f0e9d2"' in shown
    assert re.search(r'<text class="face-sans-bold" lang="cy" font-size="7.585" fill="#f0e9d2">', shown)
    assert '<option value="centre" selected>' in shown


def test_versions_are_kept_and_nobody_writes_over_what_they_did_not_read(client, cast, sketch):
    placed(sketch, actor=cast.editor)
    placed(sketch, a_text_block(number=1, words="No moon yet."), a_text_block(top_mm=80.0), actor=cast.art_director)
    sign_in(client, cast.editor.person)
    answer = post(client, sketch, a_text_block(words="Mine."), seen=1)
    assert answer.status_code == 409
    shown = answer.content.decode()
    assert "Somebody placed this spread’s text anew" in shown and "Mine." in shown
    assert "other words in block 1" in shown and "block 2 added" in shown
    assert "<p>No moon yet.</p>" in shown and f"<p>{WORDS}</p>" in shown, "each version can be read"
    assert [row.version for row in SpreadText.objects.order_by("version")] == [1, 2]
    with pytest.raises(Refused, match="nothing-changed"):
        set_text(
            sketch.spread_id, [a_text_block(number=1, words="No moon yet."), a_text_block(number=2, top_mm=80.0)],
            seen=2, actor=cast.editor,
        )  # fmt: skip


def test_a_block_taken_away_keeps_its_number_for_ever(cast, sketch):
    placed(sketch, a_text_block(), a_text_block(top_mm=80.0), actor=cast.editor)
    placed(sketch, a_text_block(number=1), actor=cast.editor)
    text = placed(sketch, a_text_block(number=1), a_text_block(top_mm=120.0), actor=cast.editor)
    assert [one["number"] for one in text.blocks] == [1, 3]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"words": "  \n "}, "text-without-words"),
        ({"words": "a" * 4001}, "text-too-long"),
        ({"left_mm": 450.0}, "text-off-page"),
        ({"width_mm": 0.5}, "text-off-page"),
        ({"size_pt": 2.0}, "text-size-out-of-range"),
        ({"size_pt": float("nan")}, "text-size-out-of-range"),
        ({"left_mm": float("nan")}, "text-off-page"),
        ({"language": "English!"}, "text-language-unknown"),
        ({"colour": "red"}, "text-colour-unknown"),
        ({"number": 7}, "text-unreadable"),
    ],
)
def test_what_no_page_can_show_is_refused_in_a_sentence(cast, sketch, changes, code):
    assert refusal(lambda: placed(sketch, a_text_block(**changes), actor=cast.editor)) == code
    assert not SpreadText.objects.exists()


def test_a_cover_takes_blocks_once_its_paper_is_told_and_not_before(client, cast):
    cover = cast.passage("Cover", "ideas")
    with pytest.raises(Refused, match="text-on-cover"):
        placed(cover, actor=cast.editor)
    sign_in(client, cast.editor.person)
    address = reverse("reviews:spread-text", args=[cover.spread_id])
    inside = reverse("reviews:spread-text", args=[cast.passage("Pages 4–5", "ideas").spread_id])
    answer = client.get(address)
    assert answer.status_code == 409 and "whose size needs the paper" in answer.content.decode()
    assert address not in client.get(inside).content.decode()
    sign_in(client, cast.production.person)
    send(client, cast.book, **PAPER)
    sign_in(client, cast.editor.person)
    assert address in client.get(inside).content.decode()
    flat = print_of(Book.objects.get(pk=cast.book.pk)).flats()["cover"]
    front = flat.panel("front")
    title = a_text_block(left_mm=front.left_mm + 20, top_mm=40.0, words="The Otter Who Kept Time")
    assert placed(cover, title, actor=cast.editor).version == 1
    shown = " ".join(page(client, cast.illustrator, cover).split())
    assert "The Otter Who Kept Time" in shown and "Nothing was found against them" in shown
    spine = flat.panel("spine")
    placed(cover, a_text_block(number=1, left_mm=spine.left_mm - 30, top_mm=60.0), actor=cast.editor)
    shown = " ".join(page(client, cast.illustrator, cover).split())
    assert "lies across a fold of the cover" in shown and "Nothing was found" not in shown


def test_a_covers_text_lies_over_the_whole_piece_and_over_no_picture_of_the_front_alone(client, cast):
    cover = cast.passage("Cover", "ideas")
    sign_in(client, cast.production.person)
    send(client, cast.book, **PAPER)
    flat = print_of(Book.objects.get(pk=cast.book.pk)).flats()["cover"]
    placed(cover, a_text_block(left_mm=flat.panel("front").left_mm + 20, top_mm=40.0), actor=cast.editor)
    handed_in(cover, cast.illustrator)
    picture = Picture.objects.get(hand_in__passage=cover)
    for size, is_whole in (((flat.width_mm, flat.height_mm), True), ((250.0, 250.0), False)):
        width, height = (round(10 * (mm + 6)) for mm in size)
        Picture.objects.filter(pk=picture.pk).update(width_px=width, height_px=height)
        assert (on_table(client, cast.illustrator, cover) is not None) is is_whole


@pytest.mark.parametrize(
    "broken",
    [{"seen": "x"}, {"block-0-size_pt": "big"}, {"block-0-left_mm": "nan"}, {"block-0-face": "comic"},
     {"block-TOTAL_FORMS": "9999"}, {"block-TOTAL_FORMS": "-1"}, {"block-0-words": "\0"}],
)  # fmt: skip
def test_a_form_that_cannot_be_read_changes_nothing_and_is_shown_again(client, cast, sketch, broken):
    sign_in(client, cast.editor.person)
    answer = post(client, sketch, a_text_block(), **broken)
    assert answer.status_code == 409 and "Place the text" in answer.content.decode()
    assert not SpreadText.objects.exists()


def test_a_new_block_takes_lines_of_the_brief_and_the_page_says_where_they_come_apart(client, cast, sketch):
    written(cast, sketch, text="Hush, said the tarn.\nThe otter hushed.\nNo moon yet.")
    sign_in(client, cast.editor.person)
    blank = a_text_block(words="")
    post(client, sketch, blank, **{"block-0-take_first": "1", "block-0-take_last": "2"})
    assert SpreadText.objects.get().blocks[0]["words"] == "Hush, said the tarn.\nThe otter hushed."
    shown = page(client, cast.illustrator, sketch)
    assert "Every block has the words of the brief" in shown and shown.count("in no block") == 1
    written(cast, sketch, text="Hush, said the tarn.\nThe otter slept.\nNo moon yet.")
    shown = page(client, cast.illustrator, sketch)
    assert "1 block has other words" in shown and "Every block has the words" not in shown


def test_before_a_sketch_is_approved_it_is_no_change_of_text(cast, sketch):
    text = placed(sketch, actor=cast.editor)
    later = placed(sketch, a_text_block(number=1, words="Hush!"), actor=cast.editor)
    assert not text.is_change and not later.is_change
    assert told(cast.illustrator) and not told(cast.agent)
    assert "change of text" not in mail_for(told(cast.illustrator)[0], lambda letter: b"").text


def test_after_an_approved_sketch_both_sides_are_told_that_it_is_a_change_of_text(cast, sketch):
    placed(sketch, actor=cast.editor)
    settled(cast, sketch)
    text = placed(sketch, a_text_block(number=1, left_mm=60.0), actor=cast.editor)
    assert text.is_change
    entry = LedgerEntry.objects.latest("seq")
    assert sentence(entry.as_entry()).endswith(
        "block 1 moved (by 40 mm at most). Written after a sketch was approved: a change of text."
    )
    for seat in (cast.illustrator, cast.agent, cast.art_director):
        mail = mail_for(told(seat)[-1], lambda letter: b"")
        assert mail.subject == f"Text change: Pages 4–5 · {cast.book.title}"
        assert "a change of text" in mail.text
        assert reverse("reviews:spread-text", args=[sketch.spread_id]) in mail.text


def test_a_nudge_after_an_approved_sketch_is_told_as_a_move_and_nudges_add_up(client, cast, sketch):
    placed(sketch, actor=cast.editor)
    settled(cast, sketch)
    nudged = placed(sketch, a_text_block(number=1, left_mm=21.0), actor=cast.editor)
    said = sentence(LedgerEntry.objects.latest("seq").as_entry())
    assert not nudged.is_change and not told(cast.agent)
    assert said.endswith(
        "block 1 moved (by 1 mm at most). Within 5 mm of where it stood at the approval, or was first placed or "
        "changed since: a move, and no change of text."
    )
    mail = mail_for(told(cast.illustrator)[-1], lambda letter: b"")
    assert not mail.subject.startswith("Text change") and "block 1 moved" in mail.text
    for seat in (cast.editor, cast.illustrator):
        shown = " ".join(page(client, seat, sketch).split())
        assert "by more than 5 mm from where it stood at the approval" in shown
        assert "block 1 moved (by 1 mm at most)" in shown and "<b>Written after a sketch" not in shown
    placed(sketch, a_text_block(number=1, left_mm=25.0), actor=cast.editor)
    assert placed(sketch, a_text_block(number=1, left_mm=25.1), actor=cast.editor).is_change, "5.1 mm from the sketch"
    assert not placed(sketch, a_text_block(number=1, left_mm=26.0), actor=cast.editor).is_change, "told of already"
    assert told(cast.agent) and check_held(cast.book).faults == []


def test_a_first_placing_after_it_is_one_only_where_it_brings_words_the_brief_has_not(cast, sketch):
    written(cast, sketch, text=WORDS)
    settled(cast, sketch)
    first = placed(sketch, actor=cast.editor)
    assert not first.is_change
    other = cast.passage("Pages 6–7", "sketch")
    settled(cast, other)
    assert placed(other, actor=cast.editor).is_change


def test_lines_are_broken_for_what_is_being_typed_and_nothing_is_kept(client, cast, sketch):
    sign_in(client, cast.editor.person)
    narrow = a_text_block(width_mm=30.0, left_mm=230.0)
    answer = post(client, sketch, narrow, a_text_block(size_pt=0), name="break-text")
    said = json.loads(answer.content)
    (block,) = said["blocks"]
    assert [line["words"] for line in block["lines"]] == ["Hush,", "said the", "tarn."]
    assert "gutter band" in said["faults"][0]
    assert not SpreadText.objects.exists() and not LedgerEntry.objects.filter(deed=Deed.SET_TEXT).exists()


def test_the_page_says_what_it_looked_at_and_never_that_all_is_well_where_it_is_not(client, cast, sketch):
    placed(sketch, actor=cast.editor)
    assert "Nothing was found against them" in (clean := " ".join(page(client, cast.editor, sketch).split())), clean
    placed(sketch, a_text_block(number=1, left_mm=1.0), actor=cast.editor)
    shown = " ".join(page(client, cast.editor, sketch).split())
    assert "Nothing was found" not in shown and "outside the safe area by up to 4 mm" in shown


def test_the_page_takes_few_queries(client, cast, sketch, django_assert_max_num_queries):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    placed(sketch, *(a_text_block(top_mm=20.0 + 10 * n, height_mm=10.0) for n in range(9)), actor=cast.editor)
    sign_in(client, cast.editor.person)
    with django_assert_max_num_queries(12):
        client.get(reverse("reviews:spread-text", args=[sketch.spread_id]))


def on_table(client, seat, passage) -> dict | None:
    sign_in(client, seat.person)
    answer = client.get(reverse("reviews:passage", args=[passage.pk]))
    (picture,) = answer.context["table_data"]["pictures"]
    return picture["frame"]["text"]


def test_it_lies_over_the_art_on_the_table_for_whoever_reads_the_brief_and_nobody_else(client, cast, sketch):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    assert on_table(client, cast.illustrator, ideas) is None
    placed(sketch, actor=cast.editor)
    for seat in (cast.illustrator, cast.agent, cast.production, cast.art_director):
        text = on_table(client, seat, ideas)
        assert text["view"] == [-3.0, -3.0, 506.0, 256.0]
        assert [line["words"] for line in text["blocks"][0]["lines"]] == [WORDS]
    assert on_table(client, cast.invite_guest(ideas), ideas) is None


def test_of_a_form_that_was_refused_nothing_is_vouched_for(client, cast, sketch):
    written(cast, sketch, text="Hush, said the tarn.\nThe otter hushed.")
    sign_in(client, cast.editor.person)
    answer = post(client, sketch, a_text_block(words="Not in it."), a_text_block(top_mm=70.0), seen=7)
    shown = " ".join(answer.content.decode().split())
    assert answer.status_code == 409 and "1 block has other words than the brief" in shown, "two new blocks are two"
    answer = post(client, sketch, a_text_block(), a_text_block(), **{"block-1-left_mm": "?"})
    shown = " ".join(answer.content.decode().split())
    assert answer.status_code == 409
    assert "Every block has the words of the brief" not in shown and "Nothing was found against them" not in shown


def test_of_many_versions_only_the_newest_is_read_where_that_is_what_is_asked_for(cast, sketch, monkeypatch):
    placed(sketch, actor=cast.editor)
    for n in range(2, 5):
        placed(sketch, a_text_block(number=1, left_mm=20.0 + n), actor=cast.editor)
    read = []
    made = SpreadText.from_db.__func__

    def from_db(model, *columns):
        read.append(made(model, *columns))
        return read[-1]

    monkeypatch.setattr(SpreadText, "from_db", classmethod(from_db))
    for found in (texts_of(cast.book), newest_texts([sketch.spread_id])):
        assert {spread: text.version for spread, text in found.items()} == {sketch.spread_id: 4}
    assert len(read) == 2
