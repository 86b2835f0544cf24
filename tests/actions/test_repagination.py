"""Spreads change places with all that hangs on them: art, notes, versions, dates, approvals and every figure."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions import repagination
from reviews.actions.briefs import change_brief
from reviews.models import HandIn, LedgerEntry, Note, Notice, Passage, Spread
from reviews.pages.calendar_feed import calendar_of
from reviews.queries.held_check import check_held
from reviews.queries.ledger_check import check_ledger
from reviews.queries.statement import export_of
from reviews.rules.contract import recount
from reviews.rules.repagination import Moving
from reviews.rules.states import Deed, Refused
from tests.cast import Cast, gather, sign_in
from tests.letter_scene import a_round, approved, pinned
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db
WHY = "The rhyme runs better so."


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


def swapped(cast, one="Pages 4–5", other="Pages 8–9", moving=Moving.SWAP, *, actor=None, reason=WHY):
    here, there = (Spread.objects.get(book=cast.book, label=label, removed_at=None) for label in (one, other))
    repagination.move_spread(here.pk, there.pk, moving, reason, actor=actor or cast.art_director)


def test_art_notes_versions_approval_and_brief_go_along(client, cast):
    first, other = cast.passage("Pages 4–5", "ideas"), cast.passage("Pages 8–9", "ideas")
    change_brief(cast.book.pk, first.spread_id, {"art": "She carries the pail."}, seen=0, actor=cast.art_director)
    a_round(cast, first, 1)
    approved(cast, first, 2)
    handed_in(other, cast.illustrator, (3,))
    pinned(other, cast.editor, "Turn him round.")
    before = {
        passage.pk: (passage.state, passage.hand_in_id, passage.approved_sha256, passage.due_on)
        for passage in Passage.objects.filter(book=cast.book)
    }
    n_notes, n_versions = Note.objects.count(), HandIn.objects.count()
    swapped(cast)
    after = {
        passage.pk: (passage.state, passage.hand_in_id, passage.approved_sha256, passage.due_on)
        for passage in Passage.objects.filter(book=cast.book)
    }
    assert (after, Note.objects.count(), HandIn.objects.count()) == (before, n_notes, n_versions)
    assert cast.passage("Pages 8–9", "ideas").pk == first.pk and cast.passage("Pages 4–5", "ideas").pk == other.pk
    sign_in(client, cast.art_director.person)
    page = client.get(reverse("reviews:passage", args=[first.pk])).content.decode()
    assert "<h1>Pages 8–9" in page and "She carries the pail." in page, "the address of before opens it, renumbered"
    assert "Turn him round." in client.get(reverse("reviews:passage", args=[other.pk])).content.decode()


def test_numbers_follow_on_every_page_and_the_ledger_tells_old_and_new(client, cast):
    a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    swapped(cast)
    entry = LedgerEntry.objects.get(deed=Deed.MOVE_SPREADS)
    assert [(one["was"], one["label"]) for one in entry.data["placed"]] == [
        ("Pages 8–9", "Pages 4–5"), ("Pages 4–5", "Pages 8–9"),
    ]  # fmt: skip
    for seat in (cast.art_director, cast.illustrator, cast.agent):
        sign_in(client, seat.person)
        ledger = client.get(reverse("reviews:ledger", args=[cast.book.pk])).content.decode()
        assert "Pages 4–5 is now Pages 8–9" in ledger and WHY in ledger
        for name in ("book-map", "schedule", "account", "statement", "plan"):
            shown = client.get(reverse(f"reviews:{name}", args=[cast.book.pk])).content.decode()
            assert shown.index("Pages 4–5") < shown.index("Pages 6–7"), name
    told = {notice.person for notice in Notice.objects.filter(entry=entry)}
    assert told == {seat.person for seat in (cast.illustrator, cast.agent, cast.editor, cast.production)}


def test_a_letter_keeps_the_number_it_was_written_with_and_tells_the_one_of_now(client, cast):
    letter = a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    sign_in(client, cast.illustrator.person)
    page = reverse("reviews:letter", args=[letter.pk])
    assert "the order of the pages changed" not in client.get(page).content.decode()
    swapped(cast)
    shown = client.get(page).content.decode()
    assert "Pages 4–5, ideas" in shown and "This is Pages 8–9 now" in shown


def test_no_figure_changes_and_the_book_recounts_as_before(cast):
    a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    approved(cast, cast.passage("Pages 8–9", "ideas"), 2)
    at = timezone.now()
    before = export_of(cast.book, None, at=at)
    swapped(cast, moving=Moving.MOVE)
    after = export_of(cast.book, None, at=at)

    def figures(told):
        """Read figures without the order in which the pieces are told, which is that of the book."""
        if isinstance(told, dict):
            return {key: figures(value) for key, value in told.items()}
        if isinstance(told, list):
            return sorted((figures(value) for value in told), key=repr)
        return told

    assert figures(after["figures"]) == figures(before["figures"])
    assert recount.differences(after["figures"], recount.figures(recount.count_again(after))) == []
    labels = {line["spread"]: line["label"] for line in after["spreads"]}
    first = cast.passage("Pages 8–9", "ideas").spread_id
    assert labels[first] == "Pages 8–9"
    assert not check_held(cast.book).faults
    assert not check_ledger(cast.book, hashes=True).faults


def test_a_calendar_tells_the_new_pages_and_that_they_are_newer(cast):
    from reviews.actions.feeds import make_calendar_link

    secret = make_calendar_link(cast.illustrator.person).secret

    def told():
        feed = calendar_of(secret, timezone.now()).replace("\r\n ", "")
        events = {}
        for event in feed.split("BEGIN:VEVENT")[1:]:
            lines = dict(line.partition(":")[::2] for line in event.splitlines() if ":" in line)
            events[lines["UID"]] = (lines["SUMMARY"], int(lines["SEQUENCE"]))
        return events

    before = told()
    swapped(cast)
    after = told()
    changed = {uid for uid in before if before[uid][0] != after[uid][0]}
    assert changed and all(after[uid][1] > before[uid][1] for uid in changed)


@pytest.mark.parametrize(
    ("one", "other", "reason", "code"),
    [("Cover", "Pages 4–5", WHY, "move-fixed"), ("Pages 4–5", "Pages 4–5", WHY, "move-nowhere"),
     ("Pages 4–5", "Pages 6–7", "  ", "move-needs-reason")],
)  # fmt: skip
def test_a_move_that_cannot_be_is_refused(cast, one, other, reason, code):
    with pytest.raises(Refused, match=code):
        swapped(cast, one, other, reason=reason)
    assert not LedgerEntry.objects.filter(deed=Deed.MOVE_SPREADS).exists()


def test_a_spread_of_another_book_is_no_place_to_go(cast):
    other = gather(a_book(title="The Heron’s Hat"))
    here = cast.passage("Pages 4–5", "ideas").spread_id
    there = other.passage("Pages 4–5", "ideas").spread_id
    with pytest.raises(Refused, match="move-elsewhere"):
        repagination.move_spread(here, there, Moving.SWAP, WHY, actor=cast.art_director)


def test_only_the_publisher_moves_pages_and_does_it_through_the_page(client, cast):
    here, there = (cast.passage(label, "ideas").spread_id for label in ("Pages 4–5", "Pages 6–7"))
    path = reverse("reviews:move-spread", args=[here])
    data = {"to": there, "moving": "swap", "reason": WHY}
    for seat in (cast.illustrator, cast.editor, cast.agent):
        sign_in(client, seat.person)
        assert client.post(path, data).status_code == 403
    sign_in(client, cast.production.person)
    for wrong in ({"to": "x"}, {"moving": "delete"}, {"to": ""}):
        client.post(path, data | wrong)
        assert Spread.objects.get(pk=here).label == "Pages 4–5"
    done = client.post(path, data, follow=True).content.decode()
    assert "Pages 4–5 is now Pages 6–7" in done
    assert Spread.objects.get(pk=here).label == "Pages 6–7"
