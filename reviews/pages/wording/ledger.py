"""Each ledger entry as one plain sentence.

Made from the entry alone: read years later, it depends on no row that changed. ``data["where"]`` names the passage.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from reviews.models import LedgerEntry
from reviews.pages.wording.agreements import (
    agent_sentence,
    change_terms_sentence,
    confirm_terms_sentence,
    ended_sentence,
    moved_sentence,
    proposed_sentence,
)
from reviews.pages.wording.briefs import BRIEF_SENTENCES
from reviews.pages.wording.dates import day_words
from reviews.pages.wording.dates_moved_with import and_late_moves, late_moves, withdrawn_sentence
from reviews.pages.wording.derived import asked_words, listed_words, recipe_words
from reviews.pages.wording.fees import price_words
from reviews.pages.wording.letter_answers import letter_answer_words
from reviews.pages.wording.money_ledger import (
    agreed_hours_sentence,
    invoice_sentence,
    paid_sentence,
    payment_taken_back_sentence,
    received_sentence,
    taken_back_sentence,
    told_hours_sentence,
)
from reviews.pages.wording.names import response_words, role_words
from reviews.pages.wording.notes import note_name
from reviews.pages.wording.page_changes import PAGE_SENTENCES
from reviews.pages.wording.pauses import agree_pause_sentence
from reviews.pages.wording.pictures import refusal_sentence
from reviews.pages.wording.plans import change_plan_sentence
from reviews.pages.wording.plates import tell_plate_sentence
from reviews.pages.wording.print_set_up import judge_proof_sentence, set_print_sentence
from reviews.pages.wording.reading import READING_SENTENCES
from reviews.pages.wording.repagination import MOVING_SENTENCES
from reviews.pages.wording.soft_proofs import bring_profile_sentence
from reviews.pages.wording.stage_names import NAMING_SENTENCES
from reviews.pages.wording.stoppers import take_on_fault_sentence
from reviews.pages.wording.text_blocks import set_text_sentence, text_along_words
from reviews.pages.wording.votes import VOTE_SENTENCES
from reviews.rules.contract.fees import Price, PricedBy
from reviews.rules.contract.terms_text import money_from_text
from reviews.rules.derived import Choice, Making
from reviews.rules.entries import Entry
from reviews.rules.payload_shapes import HandInData
from reviews.rules.payloads import payload_of
from reviews.rules.portal_payloads import GiveToPrinterData
from reviews.rules.states import Deed, PassageState, Weighing

Teller = Callable[[Entry], str]


def sentence(entry: Entry) -> str:
    """Tell one entry, without its moment; ends in a full stop."""
    return SENTENCES[Deed(entry.deed)](entry)


def _day(value: str | None) -> str:
    return day_words(date.fromisoformat(value)) if value else _("no date")


def _template(text: str) -> Teller:
    def tell(entry: Entry) -> str:
        return _(text).format(by=entry.by, **entry.data)

    return tell


def _give_to_printer(entry: Entry) -> str:
    data = payload_of(entry, GiveToPrinterData)
    told = _("{where} is with the printer from here on: its days are neither side’s. Production hands it in.")
    others = data.get("with_it", [])
    also = _(" So it is from here on with {others}.").format(others="; ".join(others)) if others else ""
    return told.format(where=data["where"]) + also


def _note(entry: Entry) -> str:
    """Name a sent note as its flag does; older entries do not tell its letter."""
    return note_name(entry.data["number"], entry.data.get("of_letter"))


def _place_note(entry: Entry) -> str:
    if entry.data.get("is_put_back"):
        told = _("{by} put {note} back where it was found on the newest picture of {where}.")
    else:
        told = _("{by} showed by hand where {note} is on the newest picture of {where}.")
    return told.format(by=entry.by, note=_note(entry), where=entry.data["where"])


def _change_book(entry: Entry) -> str:
    names = {
        "title": _("the title from {before} to {after}"),
        "publisher": _("the publisher from {before} to {after}"),
        "final_on": _("the day by which everything is approved from {before} to {after}"),
        "trim_width_mm": _("the trim width from {before} to {after} mm"),
        "trim_height_mm": _("the trim height from {before} to {after} mm"),
    }
    told = []
    for name, change in entry.data["changed"].items():
        before, after = (_fact(name, value) for value in (change["from"], change["to"]))
        told.append(names[name].format(before=before, after=after))
    listed = _(" and ").join(told)
    if reason := entry.data["reason"]:
        return _("{by} changed {facts}: {reason}").format(by=entry.by, facts=listed, reason=reason)
    return _("{by} changed {facts}.").format(by=entry.by, facts=listed)


def _fact(name: str, value: str | None) -> str:
    if name == "final_on":
        return _day(value)
    return value or "" if name.startswith("trim_") else f"“{value}”"


def _invite(entry: Entry) -> str:
    told = _("{by} invited {name} as {role}.")
    return told.format(by=entry.by, name=entry.data["name"], role=role_words(entry.data["role"]))


def _take_seat(entry: Entry) -> str:
    return _("{by} took a seat as {role}.").format(by=entry.by, role=role_words(entry.data["role"]))


def _end_seat(entry: Entry) -> str:
    told = _("{by} ended the seat of {name} ({role}).")
    return told.format(by=entry.by, name=entry.data["name"], role=role_words(entry.data["role"]))


def _hand_in(entry: Entry) -> str:
    data, n = entry.data, len(entry.data["pictures"])
    told = ngettext(
        "{by} handed in number {number} of {where}: {n} picture.",
        "{by} handed in number {number} of {where}: {n} pictures.",
        n,
    ).format(by=entry.by, number=data["number"], where=data["where"], n=n)
    if data.get("answer_due_on"):
        told += " " + _("The publisher answers by {day}.").format(day=_day(data["answer_due_on"]))
    return told


def cover_note_of(entry: Entry | LedgerEntry) -> str:
    """Give the cover note that came with a hand-in; nothing for other deeds, and for entries that did not keep it."""
    return payload_of(entry, HandInData).get("cover_note", "") if entry.deed == Deed.HAND_IN else ""


def _send_letter(entry: Entry) -> str:
    answers = "; ".join(letter_answer_words(answer) for answer in entry.data["answers"])
    told = _("{by} sent letter {number}: {answers}.").format(by=entry.by, number=entry.data["number"], answers=answers)
    return told + "".join(late_moves(answer) for answer in entry.data["answers"])


def _agree(entry: Entry) -> str:
    data = entry.data
    told = _("{by} agreed to hand-in {number} of {where}.").format(
        by=entry.by, number=data["number"], where=data["where"]
    )
    if data["to"] == PassageState.APPROVED:
        told += " " + _("With both sign-offs it is approved.")
    return told


def _answer_note(entry: Entry) -> str:
    words = response_words(entry.data["response"]).lower()
    if "there" in entry.data:
        there = ", ".join(entry.data["there"])
        told = _("{by} answered {note}, on the book, for {there}: {words}.")
        return told.format(by=entry.by, note=_note(entry), there=there, words=words)
    told = _("{by} answered {note} on {where}: {words}.")
    return told.format(by=entry.by, note=_note(entry), where=entry.data["where"], words=words)


def _weigh(entry: Entry) -> str:
    through = entry.data["weighing"] == Weighing.THROUGH
    told = _("{by} included a note on {where}.") if through else _("{by} left out a note on {where}.")
    return told.format(by=entry.by, where=entry.data["where"])


def _read_picture(entry: Entry) -> str:
    data = entry.data
    if data["verdict"] == "ready":
        return _("The portal read {file} for {where}.").format(file=data["file_name"], where=data["where"])
    told = _("The portal could not read {file} for {where}: {reason}")
    return told.format(file=data["file_name"], where=data["where"], reason=_reason(data))


def _mark_option(entry: Entry) -> str:
    told = {
        "this": _("{by} marked option {option} of {where}: this."),
        "maybe": _("{by} marked option {option} of {where}: maybe."),
    }.get(entry.data["verdict"], _("{by} marked option {option} of {where}: not this."))
    return told.format(by=entry.by, option=entry.data["option"], where=entry.data["where"])


def _lay_out(entry: Entry) -> str:
    data = entry.data
    # Older entries hold the words alone.
    words = (
        data["words"]
        if "words" in data
        else _("{were} became {are}").format(were=_(" and ").join(data["were"]), are=_(" and ").join(data["are"]))
    )
    told = _("{by} changed the page layout: {words}.").format(by=entry.by, words=words)
    return " ".join(filter(None, (told, text_along_words(data.get("texts", ())))))


def _announce_silence(entry: Entry) -> str:
    data = entry.data
    return _(
        "The portal warned the publisher: hand-in {number} of {where} has no answer, and the terms count it as "
        "approved if none comes by the end of {day}."
    ).format(number=data["number"], where=data["where"], day=_day(data["silent_on"]))


def _approve_by_silence(entry: Entry) -> str:
    data = entry.data
    return _(
        "No answer came to hand-in {number} of {where} by the end of {day}, so the terms count it as approved."
    ).format(number=data["number"], where=data["where"], day=_day(data["silent_on"]))


def _ask_consent(entry: Entry) -> str:
    data = entry.data
    if "number" in data:
        told = _(
            "{by} asked for consent to round {number} on {where} ({included} in the fee; one more: {price}): {words}"
        )
        return told.format(
            by=entry.by,
            number=data["number"],
            where=data["where"],
            included=data["included"] or _("none"),
            price=_price(data),
            words=data["words"],
        )
    # Older entries name neither the round nor its price, and some have no words.
    values = {"by": entry.by, "where": data["where"]}
    if data.get("words"):
        told = _("{by} asked for consent to one extra round on {where}: {words}")
        return told.format(words=data["words"], **values)
    return _("{by} asked for consent to one extra round on {where}.").format(**values)


def _price(data: Any) -> str:
    # Older entries hold the price in words.
    if "price" in data:
        return data["price"]
    by_round, by_hour = money_from_text(data["round_fee"]), money_from_text(data["hour_fee"])
    if by_round is not None:
        return price_words(Price(by=PricedBy.ROUND, amount=by_round))
    return price_words(Price(by=PricedBy.HOUR, amount=by_hour) if by_hour else None)


def _derive_picture(entry: Entry) -> str:
    data = entry.data
    making = Making(data["making"])
    names = [sheet["file_name"] for sheet in data["sheets"]]
    if data["verdict"] == "made":
        recipe = " ".join(recipe_words(making, names, data["recipe"]))
        # The whole fingerprints stand in the entry's data; eight digits are enough to find them by.
        sources = listed_words([f"{sheet['file_name']} ({sheet['sha256'][:8]})" for sheet in data["sheets"]])
        told = _("The portal made {file} for {where} from {sources}. {recipe}")
        return told.format(file=data["file_name"], where=data["where"], sources=sources, recipe=recipe)
    told = _("The portal could not {words} for {where}: {reason}")
    return told.format(words=asked_words(making, names), where=data["where"], reason=_reason(data))


def _reason(data: Any) -> str:
    # Older entries hold the reason in words.
    return data.get("reason") or refusal_sentence(data["code"], data.get("values", {}))


def _make_derived(entry: Entry) -> str:
    data = entry.data
    # Older entries hold in words what was asked for.
    words = data.get("words") or asked_words(Making(data["making"]), [sheet["file_name"] for sheet in data["sheets"]])
    return _("{by} asked to {words} for {where}.").format(by=entry.by, words=words, where=data["where"])


def _choose_derived(entry: Entry) -> str:
    data = entry.data
    told = {
        Choice.KEEP: _("{by} kept {file} for {where}, made from {sources}."),
        Choice.DROP: _("{by} dropped {file} from the draft for {where}; made from {sources}."),
        Choice.AGAIN: _("{by} looks again at {file} for {where}, made from {sources}."),
    }[Choice(data["choice"])]
    names = [sheet["file_name"] for sheet in data["sheets"]]
    return told.format(by=entry.by, file=data["file_name"], where=data["where"], sources=listed_words(names))


_WORK_AGAIN = {
    "reading": gettext_noop("{by} had the reading of {name} tried again."),
    "comparison": gettext_noop("{by} had the comparison with what came before tried again."),
    "letter": gettext_noop("{by} had the PDF or the mails of letter {number} tried again."),
    "invitation": gettext_noop("{by} had the mail that invites {name} tried again."),
}


def _try_again(entry: Entry) -> str:
    return _(_WORK_AGAIN[entry.data["work"]]).format(by=entry.by, **entry.data)


SENTENCES: dict[Deed, Teller] = {
    **BRIEF_SENTENCES,
    **READING_SENTENCES,
    **NAMING_SENTENCES,
    **MOVING_SENTENCES,
    **PAGE_SENTENCES,
    **VOTE_SENTENCES,
    Deed.MAKE_BOOK: _template(gettext_noop("{by} set up the book “{title}” with {n_pages} pages.")),
    Deed.CHANGE_BOOK: _change_book,
    Deed.LAY_OUT: _lay_out,
    Deed.CHANGE_PLAN: change_plan_sentence,
    Deed.INVITE: _invite,
    Deed.REVOKE_INVITATION: _template(gettext_noop("{by} took back the invitation to {name}.")),
    Deed.TAKE_SEAT: _take_seat,
    Deed.END_SEAT: _end_seat,
    Deed.LET_AGENT_ANSWER: agent_sentence,
    Deed.MOVE_DUE_DATE: moved_sentence,
    Deed.AGREE_PAUSE: agree_pause_sentence,
    Deed.PROPOSE: proposed_sentence,
    Deed.DECLINE_PROPOSAL: lambda entry: ended_sentence(entry, withdrew=False),
    Deed.WITHDRAW_PROPOSAL: lambda entry: ended_sentence(entry, withdrew=True),
    Deed.ADD_PICTURE: _template(gettext_noop("{by} put {file_name} into the draft for {where}.")),
    Deed.REMOVE_PICTURE: _template(gettext_noop("{by} took {file_name} out of the draft for {where}.")),
    Deed.ORDER_PICTURES: _template(gettext_noop("{by} changed the order of the draft for {where}.")),
    Deed.WORD_HAND_IN: _template(gettext_noop("{by} wrote the cover note of the draft for {where}.")),
    Deed.READ_PICTURE: _read_picture,
    Deed.MAKE_DERIVED: _make_derived,
    Deed.DERIVE_PICTURE: _derive_picture,
    Deed.CHOOSE_DERIVED: _choose_derived,
    Deed.HAND_IN: _hand_in,
    Deed.WITHDRAW_HAND_IN: and_late_moves(withdrawn_sentence),
    Deed.PIN_NOTE: _template(gettext_noop("{by} added a note on {where}.")),
    Deed.EDIT_NOTE: _template(gettext_noop("{by} changed a note on {where}.")),
    Deed.WITHDRAW_NOTE: _template(gettext_noop("{by} withdrew a note on {where}.")),
    Deed.RESTORE_NOTE: _template(gettext_noop("{by} took back the withdrawal of a note on {where}.")),
    Deed.LOOK_OVER: _template(gettext_noop("{by} looked at hand-in {hand_in} of {where} and had nothing to note.")),
    Deed.REPLY: _template(gettext_noop("{by} replied to a note on {where}.")),
    Deed.MARK_OPTION: _mark_option,
    Deed.UNMARK_OPTION: _template(gettext_noop("{by} took back the mark on option {option} of {where}.")),
    Deed.WEIGH_NOTE: _weigh,
    Deed.SET_ANSWER: _template(gettext_noop("{by} wrote an answer for {where} into the letter.")),
    Deed.DROP_ANSWER: _template(gettext_noop("{by} took {where} out of the letter.")),
    Deed.WORD_LETTER: _template(gettext_noop("{by} worked on the words of the letter.")),
    Deed.SEND_LETTER: _send_letter,
    Deed.AGREE: and_late_moves(_agree),
    Deed.OBJECT: _template(gettext_noop("{by} did not agree to hand-in {number} of {where}: {words}")),
    Deed.ANSWER_NOTE: _answer_note,
    Deed.PLACE_NOTE: _place_note,
    Deed.CHANGE_TERMS: change_terms_sentence,
    Deed.CONFIRM_TERMS: confirm_terms_sentence,
    Deed.ASK_CONSENT: _ask_consent,
    Deed.GIVE_CONSENT: _template(gettext_noop("{by} consented to one extra round on {where}.")),
    Deed.DECLINE_CONSENT: _template(gettext_noop("{by} declined one extra round on {where}: {words}")),
    Deed.WITHDRAW_CONSENT: _template(gettext_noop("{by} withdrew the consent to one extra round on {where}: {words}")),
    Deed.TAKE_BACK_LETTER: taken_back_sentence,
    Deed.INVOICE: invoice_sentence,
    Deed.WITHDRAW_INVOICE: _template(gettext_noop("{by} took invoice {number} back: {reason}")),
    Deed.SAY_PAID: paid_sentence,
    Deed.CONFIRM_PAYMENT: received_sentence,
    Deed.WITHDRAW_PAYMENT: payment_taken_back_sentence,
    Deed.TELL_HOURS: told_hours_sentence,
    Deed.AGREE_HOURS: agreed_hours_sentence,
    Deed.ANNOUNCE_SILENCE: _announce_silence,
    Deed.APPROVE_BY_SILENCE: and_late_moves(_approve_by_silence),
    Deed.TRY_AGAIN: _try_again,
    Deed.SET_PRINT: set_print_sentence,
    Deed.JUDGE_PROOF: judge_proof_sentence,
    Deed.TAKE_ON_FAULT: take_on_fault_sentence,
    Deed.TELL_PLATE: tell_plate_sentence,
    Deed.BRING_PROFILE: bring_profile_sentence,
    Deed.SET_TEXT: set_text_sentence,
    Deed.GIVE_TO_PRINTER: _give_to_printer,
    Deed.HOLD_ROWS: _template(
        gettext_noop(
            "The portal took down what every note, letter and date says now; lines before this one hold no words."
        )
    ),
}
