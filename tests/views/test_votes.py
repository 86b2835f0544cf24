"""The pages of a vote: what each sees of it, before and after it is closed."""

from __future__ import annotations

import io
from datetime import timedelta

import pypdfium2
import pypdfium2.raw
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from reviews import storage
from reviews.actions import hand_ins, seats
from reviews.actions.letters import set_answer
from reviews.actions.votes import cast_ballot, close_vote, decide_vote, open_vote
from reviews.imaging.results import THUMB_NAME
from reviews.models import OptionVote, VoteBallot
from reviews.pages.desk import desk_of
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.letter_scene import sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def cover(cast):
    return handed_in(cast.passage("Cover", "ideas"), cast.illustrator, [1, 2, 3])


@pytest.fixture
def guest(cast, cover):
    return cast.invite_guest(cover.passage)


@pytest.fixture
def vote(cast, cover, guest):
    return open_vote(cover.passage_id, decider_id=cast.art_director.pk, actor=cast.art_director)


def client_of(seat) -> Client:
    client = Client()
    sign_in(client, seat.person)
    return client


def page(seat, vote) -> str:
    return client_of(seat).get(reverse("reviews:vote", args=[vote.pk])).content.decode()


def places(vote, **given: int) -> dict[str, int]:
    """A posted ballot: places by the number of the option, as o1=2."""
    return {f"place-{vote.options[int(name[1:]) - 1]}": place for name, place in given.items()}


def test_a_guest_comes_by_a_link_votes_without_an_account_and_changes_it(cast, cover, vote):
    offered = seats.invite(
        cast.book.pk, email="lisbet@thimblereed.example", name="Lisbet Orme", role="guest",
        passage_id=cover.passage_id, actor=cast.art_director,
    )  # fmt: skip
    client = Client()
    link = reverse("reviews:invitation", args=[offered.secret])
    arrived = client.post(link, {"name": "Lisbet Orme"}, follow=True)
    assert arrived.redirect_chain[-1][0] == reverse("reviews:vote", args=[vote.pk]), "the link leads to the vote itself"
    give = reverse("reviews:cast-ballot", args=[vote.pk])
    client.post(give, places(vote, o2=1, o1=2))
    client.post(give, places(vote, o3=1))
    assert VoteBallot.objects.get().ranks == [[vote.options[2]]]
    assert (
        "Your ballot is kept; this is what it says."
        in client.get(reverse("reviews:vote", args=[vote.pk])).content.decode()
    )
    assert Client().post(link, {"name": "Another"}).status_code == 410, "the link opens once"


def test_before_closing_nobody_reads_what_another_ballot_says(cast, vote, guest):
    cast_ballot(vote.pk, [[vote.options[2]], [vote.options[0]]], actor=guest)
    ballot = VoteBallot.objects.get()
    ledger = client_of(cast.art_director).get(reverse("reviews:ledger", args=[cast.book.pk])).content.decode()
    for seat in (cast.art_director, cast.editor, cast.production):
        shown = page(seat, vote)
        # Who voted, and how many; no place is chosen in anybody else's form.
        assert "1 ballot: Wilf Sandor." in shown
        assert " selected" not in shown and "Points" not in shown
        for told in (shown, ledger):
            assert ballot.salt not in told and str(ballot.ranks) not in told and "1 level" not in told
    assert "Wilf Sandor gave a ballot" in ledger
    assert page(guest, vote).count(" selected") == 2, "one’s own is shown to oneself"


def test_the_result_is_no_address_to_be_tried_before_closing(cast, vote, guest):
    paper = reverse("reviews:vote-paper", args=[vote.pk])
    cast_ballot(vote.pk, [[vote.options[0]]], actor=guest)
    assert client_of(cast.art_director).get(paper).status_code == 409
    assert client_of(guest).get(paper).status_code == 403
    close_vote(vote.pk, actor=cast.art_director)
    assert client_of(guest).get(paper).status_code == 403
    assert client_of(cast.editor).get(paper).status_code == 200


def test_the_other_side_does_not_learn_that_there_is_a_vote(cast, vote, guest):
    for seat in (cast.illustrator, cast.agent):
        client = client_of(seat)
        for name in ("vote", "vote-paper"):
            assert client.get(reverse(f"reviews:{name}", args=[vote.pk])).status_code == 404
        table = client.get(reverse("reviews:passage", args=[vote.passage_id])).content.decode()
        ledger = client.get(reverse("reviews:ledger", args=[cast.book.pk])).content.decode()
        assert "vote" not in table.lower().replace("devote", "") and "to a vote" not in ledger


def test_a_guest_closes_and_decides_nothing(cast, vote, guest):
    client = client_of(guest)
    for name in ("close-vote", "decide-vote"):
        assert client.post(reverse(f"reviews:{name}", args=[vote.pk]), {"picture": vote.options[0]}).status_code == 403
    assert client.post(reverse("reviews:open-vote", args=[vote.passage_id])).status_code == 403
    assert "Close the vote" not in page(guest, vote)
    assert OptionVote.objects.get().closed_at is None


def test_each_sees_the_options_in_an_order_of_their_own_without_the_names_of_files(cast, vote, guest):
    orders = set()
    for seat in (guest, cast.editor, cast.production, cast.art_director):
        shown = page(seat, vote)
        orders.add(tuple(part[:1] for part in shown.split('data-number="')[1:]))
        assert "idea 1.jpg" not in shown
    assert all(sorted(order) == ["1", "2", "3"] for order in orders)
    assert len(orders) > 1


@pytest.mark.parametrize("bad", ["0", "-1", "4", "1.5", "x", "١", "9" * 40])
def test_a_place_that_is_none_is_refused_in_a_sentence(vote, guest, bad):
    client = client_of(guest)
    answer = client.post(
        reverse("reviews:cast-ballot", args=[vote.pk]),
        {f"place-{vote.options[0]}": bad},
        headers={"accept": "application/json"},
    )
    assert answer.status_code == 409
    assert answer.json()["sentence"] == "A place is a number from 1 to the number of options, or empty."
    assert not VoteBallot.objects.exists()


def test_a_place_for_what_is_not_offered_is_not_read(vote, guest):
    client_of(guest).post(reverse("reviews:cast-ballot", args=[vote.pk]), {"place-999999": 1, **places(vote, o1=1)})
    assert VoteBallot.objects.get().ranks == [[vote.options[0]]]


def test_after_closing_the_house_reads_all_of_it_and_a_guest_the_order(cast, vote, guest):
    one, two, three = vote.options
    cast_ballot(vote.pk, [[two], [one]], actor=guest)
    cast_ballot(vote.pk, [[two, three]], actor=cast.editor)
    close_vote(vote.pk, actor=cast.art_director)
    shown = page(cast.editor, vote)
    assert "Option 2 is first." in shown and "2, then 1" in shown and "2 and 3 level" in shown
    assert "Not decided yet. Corvin Mallowe decides." in shown
    decide_vote(vote.pk, picture_id=one, reasons="The moon sells.", actor=cast.art_director)
    assert "The moon sells." in page(cast.production, vote)
    to_guest = page(guest, vote)
    assert "Option 2 is first." in to_guest
    for kept in ("The moon sells.", "Petra", "2 and 3 level", "Ranked above", "decided"):
        assert kept not in to_guest, kept


def test_one_page_of_paper_says_the_same_at_any_size(cast, vote, guest):
    for seat in (guest, cast.editor, cast.production):
        cast_ballot(vote.pk, [[vote.options[1]], [vote.options[0]]], actor=seat)
    close_vote(vote.pk, actor=cast.art_director)
    decide_vote(vote.pk, picture_id=vote.options[1], reasons="Because. " * 200, actor=cast.art_director)
    path = reverse("reviews:vote-paper", args=[vote.pk])
    data = client_of(cast.art_director).get(path).content
    assert data == client_of(cast.art_director).get(path).content
    document = pypdfium2.PdfDocument(io.BytesIO(data))
    assert len(document) == 1
    text = " ".join(document[0].get_textpage().get_text_range().split())
    for words in ("Option 2 is first.", "Cover, ideas", "3 ballots", "Option 2, decided by Corvin Mallowe", "Because."):
        assert words in text, words


def test_the_desk_asks_for_a_ballot_until_it_is_given(cast, vote, guest):
    def asked(seat):
        return [ask.words for ask in desk_of(seat.person).mine]

    for seat in (guest, cast.editor, cast.production):
        assert "Vote on the options" in asked(seat), seat
        cast_ballot(vote.pk, [[vote.options[0]]], actor=seat)
        assert "Vote on the options" not in asked(seat), seat
    assert asked(guest) == [], "who voted is not asked for a mark as well"
    (answer,) = [ask for ask in desk_of(cast.art_director.person).mine if ask.words == "Answer the ideas"]
    assert "A vote on it waits" in answer.detail


def test_sales_vote_on_the_cover_and_on_nothing_else(cast, vote):
    sales = cast.seat_advisers()[Role.SALES]
    assert client_of(sales).get(reverse("reviews:vote", args=[vote.pk])).status_code == 200
    other = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [7, 8])
    beside = open_vote(other.passage_id, decider_id=cast.art_director.pk, actor=cast.art_director)
    client = client_of(sales)
    assert client.get(reverse("reviews:vote", args=[beside.pk])).status_code == 404
    assert client.post(reverse("reviews:cast-ballot", args=[beside.pk]), places(beside, o1=1)).status_code == 404


def test_it_takes_twelve_queries_at_most_for_three_options_or_twelve(cast, vote, django_assert_max_num_queries):
    other = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, list(range(20, 32)))
    many = open_vote(other.passage_id, decider_id=cast.art_director.pk, actor=cast.art_director)
    client = client_of(cast.art_director)
    for one in (vote, many):
        path = reverse("reviews:vote", args=[one.pk])
        with django_assert_max_num_queries(12):
            client.get(path)
        cast_ballot(one.pk, [[one.options[0]]], actor=cast.editor)
        close_vote(one.pk, actor=cast.art_director)
        with django_assert_max_num_queries(12):
            client.get(path)


def test_it_is_opened_from_the_page_of_votes(cast, cover):
    client = client_of(cast.art_director)
    path = reverse("reviews:votes", args=[cover.passage_id])
    assert "The 3 options of the newest hand-in" in client.get(path).content.decode()
    data = {"words": "Which?", "until": "", "decider": cast.editor.pk}
    opened = client.post(reverse("reviews:open-vote", args=[cover.passage_id]), data, follow=True)
    assert "Petra Innisfold decides afterwards" in opened.content.decode()
    assert "Put the options to a vote" not in client.get(path).content.decode(), "one at a time"
    bad = client.post(reverse("reviews:open-vote", args=[cover.passage_id]), {"decider": "x"}, follow=True)
    assert "That form could not be read." in bad.content.decode()


def test_the_desk_asks_for_no_ballot_that_is_not_taken_any_more(cast, vote, guest):
    today = cast.book.day_rule.local_date(timezone.now())
    for until, is_asked in ((today, True), (today - timedelta(days=1), False)):
        OptionVote.objects.filter(pk=vote.pk).update(until=until)
        for seat in (guest, cast.editor, cast.production):
            words = [ask.words for ask in desk_of(seat.person).mine]
            assert ("Vote on the options" in words) == is_asked, (seat, until)
    (answer,) = [ask for ask in desk_of(cast.art_director.person).mine if ask.words == "Answer the ideas"]
    assert "A vote on it waits" in answer.detail, "it is still to be closed"


def test_who_is_let_in_again_is_not_asked_for_a_second_ballot(cast, cover, vote, guest):
    cast_ballot(vote.pk, [[vote.options[0]]], actor=guest)
    seats.end_seat(guest.pk, actor=cast.art_director)
    again = cast.invite_guest(cover.passage)
    assert [ask.words for ask in desk_of(again.person).mine] == []


def test_a_guest_is_not_told_whose_ballot_was_changed_outside_the_portal(cast, vote, guest):
    cast_ballot(vote.pk, [[vote.options[0]]], actor=guest)
    cast_ballot(vote.pk, [[vote.options[1]]], actor=cast.editor)
    VoteBallot.objects.filter(person=cast.editor.person).update(ranks=[[vote.options[0]]])
    close_vote(vote.pk, actor=cast.art_director)
    assert "The ballot of Petra Innisfold was changed outside the portal." in page(cast.production, vote)
    to_guest = page(guest, vote)
    assert "The ballot of one who voted was changed outside the portal." in to_guest and "Petra" not in to_guest


def test_secrecy_is_claimed_of_pages_and_not_of_the_computer_beneath(cast, cover, vote, guest):
    assert "could still look it up there" in " ".join(page(guest, vote).split())
    close_vote(vote.pk, actor=cast.art_director)
    opening = client_of(cast.art_director).get(reverse("reviews:votes", args=[cover.passage_id]))
    assert "could still look them up there" in " ".join(opening.content.decode().split())


def test_a_decision_sends_to_the_letter_only_while_a_letter_can_answer(cast, vote, guest):
    client = client_of(cast.art_director)
    close_vote(vote.pk, actor=cast.art_director)
    path, choice = reverse("reviews:decide-vote", args=[vote.pk]), {"picture": vote.options[0], "reasons": "The moon."}
    assert "approve the option there" in client.post(path, choice, follow=True).content.decode()
    set_answer(vote.passage_id, answer="approve", picture_id=vote.options[0], actor=cast.art_director)
    sent(cast)
    said = client.post(path, {**choice, "reasons": "Still the moon."}, follow=True).content.decode()
    assert "approve the option there" not in said and "not waiting for an answer now" in said


def test_of_options_that_were_taken_back_neither_page_nor_paper_shows_a_picture(cast, cover, vote, guest, tmp_path):
    cast_ballot(vote.pk, [[vote.options[1]]], actor=guest)
    close_vote(vote.pk, actor=cast.art_director)
    thumb = reverse("reviews:picture-thumb", args=[vote.options[1]])
    paper = reverse("reviews:vote-paper", args=[vote.pk])
    for picture in cover.pictures.all():
        Image.new("RGB", (40, 30), "teal").save(tmp_path / THUMB_NAME)
        storage.keep_rendition(picture.sha256, tmp_path / THUMB_NAME, anew=True)
    cover.pictures.update(has_preview=True)

    def drawn() -> int:
        page_of = pypdfium2.PdfDocument(io.BytesIO(client_of(cast.editor).get(paper).content))[0]
        return sum(one.type == pypdfium2.raw.FPDF_PAGEOBJ_IMAGE for one in page_of.get_objects())

    assert thumb in page(cast.editor, vote) and drawn() == 3
    hand_ins.withdraw_hand_in(cover.pk, "The wrong files.", actor=cast.illustrator)
    assert client_of(cast.editor).get(thumb).status_code == 404
    for seat in (cast.editor, guest):
        shown = page(seat, vote)
        assert "/pictures/" not in shown and "Its picture was taken back." in shown
    assert drawn() == 0


def test_an_editor_named_to_decide_is_asked_on_the_desk_once_it_is_closed_and_until_it_is_decided(cast, cover):
    vote = open_vote(cover.passage_id, decider_id=cast.editor.pk, actor=cast.art_director)
    asked = "Decide the vote on the options"

    def desk(seat) -> str:
        return client_of(seat).get("/").content.decode()

    cast_ballot(vote.pk, [[vote.options[0]]], actor=cast.editor)
    assert asked not in desk(cast.editor), "an open vote is not decided yet"
    close_vote(vote.pk, actor=cast.art_director)
    assert asked in desk(cast.editor) and "you were named to decide it" in desk(cast.editor)
    assert asked not in desk(cast.art_director) + desk(cast.production)
    decide_vote(vote.pk, picture_id=vote.options[0], reasons="The moon sells.", actor=cast.editor)
    assert asked not in desk(cast.editor)
