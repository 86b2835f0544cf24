"""Each ledger entry as one plain sentence.

A sentence is made from the entry alone, so that a statement read years later does not depend on
rows that may have changed. ``data["where"]`` holds the passage in words ("Pages 4–5, sketch").
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from reviews.rules.derived import Choice, Making, asked_words, listed_words, recipe_words
from reviews.rules.entries import Entry
from reviews.rules.letters import note_name
from reviews.rules.states import (
    ANSWER_WORDS,
    RESPONSE_WORDS,
    ROLE_WORDS,
    Answer,
    Deed,
    PassageState,
    Response,
    Role,
    Weighing,
)

Teller = Callable[[Entry], str]


def sentence(entry: Entry) -> str:
    """Tell one entry, without its moment; ends in a full stop."""
    return SENTENCES[Deed(entry.deed)](entry)


def day_words(value: str | None) -> str:
    """Write an ISO day as people do: 9 December 2026."""
    if not value:
        return "no date"
    day = date.fromisoformat(value)
    return f"{day.day} {day:%B %Y}"


def _template(text: str) -> Teller:
    def tell(entry: Entry) -> str:
        return text.format(by=entry.by, **entry.data)

    return tell


def _count(n: int, noun: str) -> str:
    return f"{n} {noun}" if n == 1 else f"{n} {noun}s"


def _note(entry: Entry) -> str:
    """Name a sent note as its flag does; older entries do not tell its letter."""
    return note_name(entry.data["number"], entry.data.get("of_letter"))


def _place_note(entry: Entry) -> str:
    note, where = _note(entry), entry.data["where"]
    if entry.data.get("is_put_back"):
        return f"{entry.by} put {note} back where it was found on the newest picture of {where}."
    return f"{entry.by} showed by hand where {note} is on the newest picture of {where}."


def _make_book(entry: Entry) -> str:
    return f"{entry.by} set up the book “{entry.data['title']}” with {entry.data['n_pages']} pages."


def _change_book(entry: Entry) -> str:
    names = {"title": "the title", "publisher": "the publisher", "final_on": "the day by which everything is approved"}
    told = []
    for name, change in entry.data["changed"].items():
        before, after = (
            day_words(value) if name == "final_on" else f"“{value}”" for value in (change["from"], change["to"])
        )
        told.append(f"{names[name]} from {before} to {after}")
    because = f": {entry.data['reason']}" if entry.data["reason"] else "."
    return f"{entry.by} changed {' and '.join(told)}{because}"


def _invite(entry: Entry) -> str:
    return f"{entry.by} invited {entry.data['name']} as {ROLE_WORDS[Role(entry.data['role'])]}."


def _take_seat(entry: Entry) -> str:
    return f"{entry.by} took a seat as {ROLE_WORDS[Role(entry.data['role'])]}."


def _end_seat(entry: Entry) -> str:
    return f"{entry.by} ended the seat of {entry.data['name']} ({ROLE_WORDS[Role(entry.data['role'])]})."


def _move_due_date(entry: Entry) -> str:
    which = "answer" if entry.data["which"] == "answer" else "hand-in"
    return (
        f"{entry.by} moved the {which} date of {entry.data['where']} from {day_words(entry.data['from'])} "
        f"to {day_words(entry.data['to'])}: {entry.data['reason']}"
    )


def _hand_in(entry: Entry) -> str:
    data = entry.data
    told = (
        f"{entry.by} handed in number {data['number']} of {data['where']}: {_count(len(data['pictures']), 'picture')}."
    )
    if data.get("answer_due_on"):
        told += f" The publisher answers by {day_words(data['answer_due_on'])}."
    return told


def _letter_answer(answer: dict[str, Any]) -> str:
    words = ANSWER_WORDS[Answer(answer["answer"])].lower()
    if answer.get("reopened"):
        words += " to an approved picture"
    if answer.get("waits_for_second"):
        words += ", waiting for the editor’s agreement"
    return f"{answer['where']} – {words}"


def _send_letter(entry: Entry) -> str:
    answers = "; ".join(_letter_answer(answer) for answer in entry.data["answers"])
    return f"{entry.by} sent letter {entry.data['number']}: {answers}."


def _agree(entry: Entry) -> str:
    told = f"{entry.by} agreed to hand-in {entry.data['number']} of {entry.data['where']}."
    if entry.data["to"] == PassageState.APPROVED:
        told += " With both voices it is approved."
    return told


def _answer_note(entry: Entry) -> str:
    words = RESPONSE_WORDS[Response(entry.data["response"])].lower()
    return f"{entry.by} answered {_note(entry)} on {entry.data['where']}: {words}."


def _weigh(entry: Entry) -> str:
    kept = "let through" if entry.data["weighing"] == Weighing.THROUGH else "held back"
    return f"{entry.by} {kept} a note on {entry.data['where']}."


def _read_picture(entry: Entry) -> str:
    if entry.data["verdict"] == "ready":
        return f"The portal read {entry.data['file_name']} for {entry.data['where']}."
    return f"The portal could not read {entry.data['file_name']} for {entry.data['where']}: {entry.data['reason']}"


def _mark_option(entry: Entry) -> str:
    verdict = "this" if entry.data["verdict"] == "this" else "not this"
    return f"{entry.by} marked option {entry.data['option']} of {entry.data['where']}: {verdict}."


def _change_terms(entry: Entry) -> str:
    told = f"{entry.by} entered version {entry.data['version']} of the terms"
    if entry.data["version"] > 1:
        told += f", which holds from {day_words(entry.data['from_on'])}"
    return f"{told}: {entry.data['words']}."


def _announce_silence(entry: Entry) -> str:
    data = entry.data
    return (
        f"The portal warned the publisher: hand-in {data['number']} of {data['where']} has no answer, and the terms "
        f"count it as approved if none comes by the end of {day_words(data['silent_on'])}."
    )


def _approve_by_silence(entry: Entry) -> str:
    data = entry.data
    return (
        f"No answer came to hand-in {data['number']} of {data['where']} by the end of "
        f"{day_words(data['silent_on'])}, so the terms count it as approved."
    )


def _ask_consent(entry: Entry) -> str:
    data = entry.data
    if "number" in data:
        facts = f"the fee holds {data['included'] or 'none'}; one more: {data['price']}"
        return f"{entry.by} asked for consent to round {data['number']} on {data['where']} ({facts}): {data['words']}"
    # Older entries name neither the round nor its price, and some have no words.
    told = f"{entry.by} asked for consent to one round beyond the fee on {data['where']}"
    return f"{told}: {data['words']}" if data.get("words") else f"{told}."


def _derive_picture(entry: Entry) -> str:
    data = entry.data
    making = Making(data["making"])
    names = [sheet["file_name"] for sheet in data["sheets"]]
    if data["verdict"] == "made":
        recipe = " ".join(recipe_words(making, names, data["recipe"]))
        # The whole fingerprints stand in the entry's data; eight digits are enough to find them by.
        sources = listed_words([f"{sheet['file_name']} ({sheet['sha256'][:8]})" for sheet in data["sheets"]])
        return f"The portal made {data['file_name']} for {data['where']} from {sources}. {recipe}"
    return f"The portal could not {asked_words(making, names)} for {data['where']}: {data['reason']}"


def _choose_derived(entry: Entry) -> str:
    data = entry.data
    did = {
        Choice.KEEP: "kept {0} for {1}, made from {2}.",
        Choice.DROP: "dropped {0} from the draft for {1}; made from {2}.",
        Choice.AGAIN: "looks again at {0} for {1}, made from {2}.",
    }
    names = [sheet["file_name"] for sheet in data["sheets"]]
    return f"{entry.by} {did[Choice(data['choice'])].format(data['file_name'], data['where'], listed_words(names))}"


_WORK = {
    "reading": "the reading of {name}",
    "comparing": "the comparison with what came before",
    "letter": "the PDF or the mails of letter {number}",
    "inviting": "the mail that invites {name}",
}


def _tried_again(entry: Entry) -> str:
    # The first of these entries told the work in words.
    what = _WORK[entry.data["work"]].format(**entry.data) if "work" in entry.data else entry.data["what"]
    return f"{entry.by} had {what} tried again."


SENTENCES: dict[Deed, Teller] = {
    Deed.MAKE_BOOK: _make_book,
    Deed.CHANGE_BOOK: _change_book,
    Deed.LAY_OUT: _template("{by} changed the page layout: {words}."),
    Deed.CHANGE_PLAN: _template("{by} changed the stage plan “{plan}”: {words}."),
    Deed.INVITE: _invite,
    Deed.REVOKE_INVITATION: _template("{by} took back the invitation to {name}."),
    Deed.TAKE_SEAT: _take_seat,
    Deed.END_SEAT: _end_seat,
    Deed.MOVE_DUE_DATE: _move_due_date,
    Deed.ADD_PICTURE: _template("{by} put {file_name} into the draft for {where}."),
    Deed.REMOVE_PICTURE: _template("{by} took {file_name} out of the draft for {where}."),
    Deed.ORDER_PICTURES: _template("{by} changed the order of the draft for {where}."),
    Deed.WORD_HAND_IN: _template("{by} wrote the cover note of the draft for {where}."),
    Deed.READ_PICTURE: _read_picture,
    Deed.MAKE_DERIVED: _template("{by} asked to {words} for {where}."),
    Deed.DERIVE_PICTURE: _derive_picture,
    Deed.CHOOSE_DERIVED: _choose_derived,
    Deed.HAND_IN: _hand_in,
    Deed.WITHDRAW_HAND_IN: _template("{by} withdrew hand-in {number} of {where}: {reason}"),
    Deed.PIN_NOTE: _template("{by} pinned a note on {where}."),
    Deed.EDIT_NOTE: _template("{by} changed a note on {where}."),
    Deed.WITHDRAW_NOTE: _template("{by} withdrew a note on {where}."),
    Deed.REPLY: _template("{by} replied to a note on {where}."),
    Deed.MARK_OPTION: _mark_option,
    Deed.WEIGH_NOTE: _weigh,
    Deed.SET_ANSWER: _template("{by} wrote an answer for {where} into the letter."),
    Deed.DROP_ANSWER: _template("{by} took {where} out of the letter."),
    Deed.WORD_LETTER: _template("{by} worked on the words of the letter."),
    Deed.SEND_LETTER: _send_letter,
    Deed.AGREE: _agree,
    Deed.OBJECT: _template("{by} did not agree to hand-in {number} of {where}: {words}"),
    Deed.ANSWER_NOTE: _answer_note,
    Deed.PLACE_NOTE: _place_note,
    Deed.CHANGE_TERMS: _change_terms,
    Deed.ASK_CONSENT: _ask_consent,
    Deed.GIVE_CONSENT: _template("{by} consented to one round beyond the fee on {where}."),
    Deed.DECLINE_CONSENT: _template("{by} declined one round beyond the fee on {where}: {words}"),
    Deed.WITHDRAW_CONSENT: _template("{by} withdrew the consent to one round beyond the fee on {where}: {words}"),
    Deed.ANNOUNCE_SILENCE: _announce_silence,
    Deed.APPROVE_BY_SILENCE: _approve_by_silence,
    Deed.TRY_AGAIN: _tried_again,
    Deed.HOLD_ROWS: _template(
        "The portal took down what every note, letter and date says now; lines before this one hold no words."
    ),
}

# Who is told of a deed, beside the person who did it; an empty set is "nobody is written to".
TOLD: dict[Deed, frozenset[Role]] = {
    Deed.MAKE_BOOK: frozenset(),
    Deed.CHANGE_BOOK: frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR}),
    Deed.LAY_OUT: frozenset(),
    Deed.CHANGE_PLAN: frozenset({Role.ILLUSTRATOR, Role.AGENT}),
    Deed.INVITE: frozenset(),  # the invitation itself is written to the address, not to a seat
    Deed.REVOKE_INVITATION: frozenset(),
    Deed.TAKE_SEAT: frozenset({Role.ART_DIRECTOR}),
    Deed.END_SEAT: frozenset(),
    Deed.MOVE_DUE_DATE: frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT}),
    Deed.ADD_PICTURE: frozenset(),
    Deed.REMOVE_PICTURE: frozenset(),
    Deed.ORDER_PICTURES: frozenset(),
    Deed.WORD_HAND_IN: frozenset(),
    Deed.READ_PICTURE: frozenset(),
    Deed.MAKE_DERIVED: frozenset(),
    Deed.DERIVE_PICTURE: frozenset(),
    Deed.CHOOSE_DERIVED: frozenset(),
    Deed.HAND_IN: frozenset({Role.ART_DIRECTOR, Role.EDITOR}),
    Deed.WITHDRAW_HAND_IN: frozenset({Role.ART_DIRECTOR, Role.EDITOR}),
    Deed.PIN_NOTE: frozenset(),
    Deed.EDIT_NOTE: frozenset(),
    Deed.WITHDRAW_NOTE: frozenset(),
    Deed.REPLY: frozenset(),
    Deed.MARK_OPTION: frozenset(),
    Deed.WEIGH_NOTE: frozenset(),
    Deed.SET_ANSWER: frozenset(),
    Deed.DROP_ANSWER: frozenset(),
    Deed.WORD_LETTER: frozenset(),
    Deed.SEND_LETTER: frozenset({Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION}),
    Deed.AGREE: frozenset({Role.ART_DIRECTOR}),  # and the illustrator, once it completes an approval
    Deed.OBJECT: frozenset({Role.ART_DIRECTOR}),
    Deed.ANSWER_NOTE: frozenset(),  # the next hand-in tells
    Deed.PLACE_NOTE: frozenset(),
    Deed.CHANGE_TERMS: frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR}),
    Deed.ASK_CONSENT: frozenset({Role.AGENT}),  # or the illustrator, where no agent sits
    Deed.GIVE_CONSENT: frozenset({Role.ART_DIRECTOR}),
    Deed.DECLINE_CONSENT: frozenset({Role.ART_DIRECTOR}),
    Deed.WITHDRAW_CONSENT: frozenset({Role.ART_DIRECTOR}),
    Deed.ANNOUNCE_SILENCE: frozenset({Role.ART_DIRECTOR, Role.EDITOR}),
    Deed.HOLD_ROWS: frozenset(),
    Deed.TRY_AGAIN: frozenset(),
    # Nobody has done it, so everybody is told.
    Deed.APPROVE_BY_SILENCE: frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION}),
}
