"""Enter the terms of a contract, amend them, and ask and give consent to go beyond them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from reviews.actions._deed import Act, deed_on
from reviews.actions._proposals import begin, end, proposed_by, read_to_answer
from reviews.actions._restating import fix_dates, free_dates, restate_dates
from reviews.models import Book, OverConsent, Passage, Proposal, Seat, TermsVersion
from reviews.queries.consents import one_more_round
from reviews.queries.statement import story_of
from reviews.queries.terms import HeldTerms, terms_of
from reviews.rules import permits
from reviews.rules.agreement_payloads import ConfirmTermsData
from reviews.rules.contract.day_counts import counted_by
from reviews.rules.contract.extras import price_of
from reviews.rules.contract.fixed_dates import first_over, sets_other_dates
from reviews.rules.contract.money import check_entered
from reviews.rules.contract.out_of_reach import check_end
from reviews.rules.contract.plans import check_reach
from reviews.rules.contract.terms import Terms, WhenOver, check_terms
from reviews.rules.contract.terms_text import fees_text, terms_from_text, terms_to_text
from reviews.rules.payload_shapes import AskConsentData, ChangeTermsData, EndConsentData, GiveConsentData
from reviews.rules.proposals import Matter, ProposalState, side_of
from reviews.rules.states import Deed, Refused, Role, Side

MOST_WORDS = 600


def propose_terms(
    book_id: int,
    terms: Terms,
    *,
    n_seen: int,
    house_remark: str = "",
    reaches_back: bool = False,
    seen: int | None = None,
    actor: Seat,
) -> Proposal:
    """Enter the first version of a book's terms, or an amendment: it holds once the other side agrees.

    ``n_seen`` is the number of versions the person looked at: two people who amend at once do not write over each
    other. ``seen`` is the number of the open proposal of terms they looked at, in whose place this one stands.
    ``reaches_back`` asks that an amendment holds from its day though that may be over when the other side agrees.
    """
    with deed_on(Book, book_id, Deed.PROPOSE, actor) as act:
        held = terms_of(act.book)
        if len(held.rows) != n_seen:
            raise Refused("terms-fresh")
        asks = reaches_back and not held.is_implied
        version = _checked(held, terms, act, reaches_back=asks)
        remark = house_remark.strip()[:MOST_WORDS] if permits.sees(Role(act.by.role), "terms-remark") else ""
        text = terms_to_text(version)
        made, named = begin(
            act, Matter.TERMS, seen=seen, from_on=version.from_on, terms=text, house_remark=remark, reaches_back=asks
        )  # fmt: skip
        named["terms"], named["before"] = text, _before(held)
        if asks:
            named["reaches_back"] = True
        act.record(named)
        return made


def accept_terms(proposal_id: int, *, reaches_back: bool = False, actor: Seat) -> TermsVersion:
    """Agree to proposed terms: they hold from the day they name, and never from before the day they are agreed to.

    The first version holds for everything that happened before it too: it is the contract the book had. An amendment
    holds from an earlier day only where its proposal asks for that and whoever agrees says so too (``reaches_back``).
    """
    with deed_on(Proposal, proposal_id, Deed.CHANGE_TERMS, actor) as act:
        proposal = read_to_answer(proposal_id, act)
        held = terms_of(act.book)
        terms = terms_from_text(proposal.terms or {})
        if terms.version != len(held.rows) + 1:
            raise Refused("terms-fresh")
        back = bool(held.rows) and reaches_back and proposal.reaches_back and terms.from_on < act.today
        if held.rows and not back:
            # Where they bring another zone, a day that is over there stays as its statement told it, too.
            terms = replace(terms, from_on=max(terms.from_on, act.today, terms.day_rule.local_date(act.now)))
        version = _checked(held, terms, act, reaches_back=back)
        end(proposal, act, ProposalState.ACCEPTED)
        _keep_calendar(version, act)
        act.holds(act.book)
        data = ChangeTermsData(
            version=version.version,
            from_on=version.from_on.isoformat(),
            before=_before(held),
            terms=terms_to_text(version),
            proposed=proposed_by(proposal, act),
        )
        if back:
            data["reaches_back"] = True
        if (version.version == 1 or back) and (restated := restate_dates(version, act, held.history if back else None)):
            data["restated"] = restated
        before = held.history if held.rows else None
        if fixes := fix_dates(version, act, before):
            data["fixes"] = fixes
        if before is not None and (frees := free_dates(version, act, before)):
            data["frees"] = frees
        entry = act.record(data)
        return TermsVersion.objects.create(
            book=act.book,
            number=version.version,
            from_on=version.from_on,
            text=terms_to_text(version),
            house_remark=proposal.house_remark,
            entry=entry,
        )


def confirm_terms(book_id: int, version: int, *, actor: Seat) -> TermsVersion:
    """Confirm a version that the other side entered alone, before terms were agreed on; as it stands, and as it held.

    No figure changes by it: it was counted by all the time.
    """
    with deed_on(Book, book_id, Deed.CONFIRM_TERMS, actor) as act:
        row = TermsVersion.objects.select_related("entry").filter(book=act.book, number=version).first()
        if row is None:
            raise Refused("terms-fresh")
        if not row.is_one_sided:
            raise Refused("terms-agreed-already")
        if side_of(Role(row.entry.role)) == side_of(Role(act.by.role)):
            raise Refused("own-terms")
        on = act.book.day_rule.local_date(row.entry.at)
        data = ConfirmTermsData(version=row.number, entered_by=row.entry.by, entered_on=on.isoformat())
        row.confirmation = act.record(data)
        row.save(update_fields=["confirmation"])
    return row


def _before(held: HeldTerms) -> dict[str, Any] | None:
    return None if held.is_implied else terms_to_text(held.history.versions[-1])


def _checked(held: HeldTerms, terms: Terms, act: Act, *, reaches_back: bool = False) -> Terms:
    """Give the version that these terms would be, or refuse what nobody could keep."""
    # Terms may be as old as they like; a slip in the year of an amendment would refuse every later one.
    fixed = (line.fixed_for(side) for line in terms.stages for side in Side)
    check_reach(max(terms.from_on, act.today), *fixed, today=act.today)
    version = _next_version(held, terms, act, reaches_back=reaches_back)
    check_end(story_of(act.book), version, act.today)
    return version


def _next_version(held: HeldTerms, terms: Terms, act: Act, *, reaches_back: bool) -> Terms:
    if held.is_implied:
        check_terms(terms)
        version = replace(terms, version=1)
    else:
        version = held.history.amended(terms, act.today, reaches_back=reaches_back).versions[-1]
        today = max(act.today, version.day_rule.local_date(act.now))
        if version.from_on > today and sets_other_dates(held.history.versions[-1], version):
            raise Refused("fixed-date-later", begins_on=version.from_on, today=today)
        if (over := first_over(held.history.versions[-1], version, act.today)) is not None:
            raise Refused("fixed-date-over", at_stage=over[0].stage, day=over[1])
    check_entered(version)
    return version


def _keep_calendar(version: Terms, act: Act) -> None:
    """Let the book's own calendar, by which pages say "three working days late", follow the terms once they hold."""
    book = act.book
    book.day_counts = [*book.day_counts, counted_by(version)] if version.version > 1 else [counted_by(version)]
    if version.version == 1 or version.from_on <= act.today:
        book.places, book.zone = [place for place in version.places if place], version.zone
    book.save(update_fields=["places", "zone", "day_counts"])


def ask_consent(passage_id: int, words: str, *, actor: Seat) -> OverConsent:
    """Ask the agent for one round beyond the fee on one passage, and say why it is needed.

    The entry keeps the reason beside which round it would be and what the terms of that day say it costs.
    """
    with deed_on(Passage, passage_id, Deed.ASK_CONSENT, actor) as act:
        passage = act.passage(passage_id)
        terms = terms_of(act.book).history.on(act.today)
        if terms.when_over != WhenOver.AGENT_CONSENT:
            raise Refused("consent-not-needed")
        if OverConsent.objects.open().filter(passage=passage).exists():
            raise Refused("consent-open", where=passage.where)
        said = words.strip()[:MOST_WORDS]
        if not said:
            raise Refused("consent-reason")
        number, included = one_more_round(passage)
        asked = OverConsent.objects.create(passage=passage, words=said, asked_by=act.by, asked_at=act.now)
        audience = frozenset() if _has_agent(act) else frozenset({Role.ILLUSTRATOR})
        price = price_of(terms, passage.stage.kind, after_approval=passage.approved_at is not None)
        fees = fees_text(price, terms.fee)
        data = AskConsentData(
            where=passage.where, words=said, number=number, included=included,
            round_fee=fees["round_fee"], hour_fee=fees["hour_fee"],
        )  # fmt: skip
        act.holds(asked)
        act.record(data, passage=passage, also_tell=audience)
    return asked


def give_consent(passage_id: int, *, actor: Seat) -> OverConsent:
    """Consent to one round beyond the fee on one passage; the next letter uses it up."""
    with deed_on(Passage, passage_id, Deed.GIVE_CONSENT, actor) as act:
        asked = _asked(passage_id, act)
        if asked.given_at is not None:
            raise Refused("consent-given")
        asked.given_by, asked.given_at = act.by, act.now
        asked.save(update_fields=["given_by", "given_at"])
        passage = act.passage(passage_id)
        act.holds(asked)
        act.record(GiveConsentData(where=passage.where), passage=passage)
    return asked


def decline_consent(passage_id: int, words: str, *, actor: Seat) -> OverConsent:
    """Say no to one round beyond the fee, with words; the letter cannot ask for it until consent is asked anew."""
    with deed_on(Passage, passage_id, Deed.DECLINE_CONSENT, actor) as act:
        asked = _asked(passage_id, act)
        if asked.given_at is not None:
            raise Refused("consent-given")
        _end(asked, words, act)
    return asked


def withdraw_consent(passage_id: int, words: str, *, actor: Seat) -> OverConsent:
    """Take a consent back, with words, before a letter has used it."""
    with deed_on(Passage, passage_id, Deed.WITHDRAW_CONSENT, actor) as act:
        asked = _asked(passage_id, act, missing="consent-not-given")
        if asked.given_at is None:
            raise Refused("consent-not-given")
        _end(asked, words, act)
    return asked


def _asked(passage_id: int, act: Act, *, missing: str = "consent-missing") -> OverConsent:
    """Find the consent that is open on a passage, for somebody who speaks on it."""
    if act.by.role == Role.ILLUSTRATOR and _has_agent(act):
        raise Refused("agent-speaks")
    asked = OverConsent.objects.open().filter(passage_id=passage_id).first()
    if asked is None:
        raise Refused(missing)
    return asked


def _end(asked: OverConsent, words: str, act: Act) -> None:
    said = words.strip()[:MOST_WORDS]
    if not said:
        raise Refused("consent-words")
    asked.ended_by, asked.ended_at, asked.ended_words = act.by, act.now, said
    asked.save(update_fields=["ended_by", "ended_at", "ended_words"])
    passage = act.passage(asked.passage_id)
    act.holds(asked)
    act.record(EndConsentData(where=passage.where, words=said), passage=passage)


def _has_agent(act: Act) -> bool:
    return Seat.objects.filter(book=act.book, role=Role.AGENT, ended_at=None).exists()
