"""The terms as a page shows them: each version whole, what it changed, and who is asked to go beyond it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from reviews.models import Book, Seat, TermsVersion
from reviews.pages.proposals import ProposalCard, proposals_of_terms
from reviews.pages.wording.agreements import entered_words
from reviews.pages.wording.dates import short_day
from reviews.pages.wording.fees import money_words, share_words, step_words, when_words
from reviews.pages.wording.names import stage_in_a_sentence, stage_words
from reviews.pages.wording.terms import (
    change_words,
    days_words,
    part_words,
    per_words,
    rule_lines,
)
from reviews.queries.consents import AskedRound, asked_rounds
from reviews.queries.terms import HeldTerms, terms_of
from reviews.rules import permits
from reviews.rules.contract.instalments import amounts_of
from reviews.rules.contract.terms import RoundsPer, StageDays, Terms
from reviews.rules.contract.terms_text import terms_from_text
from reviews.rules.proposals import side_of
from reviews.rules.states import Deed, Role


@dataclass(frozen=True, kw_only=True)
class StageLine:
    """Days and rounds of one stage, and the dates that stand in place of its days; ``shared_with`` names the other
    stages of its group."""

    stage: str
    part: str
    hand_in: str
    hand_in_on: str
    redo: str
    answer: str
    answer_on: str
    second_look: str
    rounds: int
    per: str
    shared_with: str


@dataclass(frozen=True)
class InstalmentLine:
    name: str
    share: str
    money: str
    when: str
    pay_within_days: int


@dataclass(frozen=True, kw_only=True)
class ShownVersion:
    """One version, ready to be read. ``row`` is None where the stage plans speak and nobody entered anything."""

    terms: Terms
    row: TermsVersion | None
    until_on: date | None
    holds: bool
    is_to_come: bool
    changes: tuple[str, ...]
    remark: str
    entered: str = ""
    is_one_sided: bool = False
    may_confirm: bool = False

    @property
    def stages(self) -> list[StageLine]:
        return [self._stage(line) for line in self.terms.stages]

    def _stage(self, line: StageDays) -> StageLine:
        group = self.terms.group_for(line.part, line.stage)
        others = ", ".join(stage_in_a_sentence(other) for other in group.stages if other != line.stage)
        return StageLine(
            stage=stage_words(line.stage),
            part=part_words(line.part),
            hand_in=days_words(line.hand_in_days, line.unit) if line.hand_in_days else "0",
            hand_in_on=short_day(line.hand_in_on) if line.hand_in_on else "",
            redo=days_words(line.redo_days, line.unit) if line.redo_days is not None else "",
            answer=days_words(line.answer_days, line.unit) if line.answer_days else "",
            answer_on=short_day(line.answer_on) if line.answer_on else "",
            second_look=days_words(line.second_look_days, line.unit) if line.second_look_days is not None else "",
            rounds=group.rounds,
            per="" if group.per == RoundsPer.SPREAD else per_words(group.per),
            shared_with=others,
        )

    @property
    def rules(self) -> list[tuple[str, str]]:
        return [(name[0].upper() + name[1:], words) for name, words in rule_lines(self.terms).items()]

    @property
    def instalments(self) -> list[InstalmentLine]:
        pairs = zip(self.terms.instalments, amounts_of(self.terms), strict=True)
        return [
            InstalmentLine(
                part.name,
                share_words(part.share) if part.share is not None else "",
                money_words(money),
                when_words(part),
                part.pay_within_days,
            )
            for part, money in pairs
        ]

    @property
    def cancellation(self) -> list[tuple[str, str]]:
        return [(step_words(step), share_words(step.share)) for step in self.terms.cancellation]


@dataclass(frozen=True, kw_only=True)
class TermsPage:
    """Everything the terms page shows to one seat."""

    held: HeldTerms
    now: ShownVersion
    others: list[ShownVersion]
    consents: list[AskedRound]
    may_consent: bool
    today: date
    proposed: ShownVersion | None
    proposal: ProposalCard | None


def terms_page(book: Book, seat: Seat, *, at: datetime) -> TermsPage:
    """Gather the terms, every version of them, and the open consents (5 queries, up to 12 where consent or a word
    is asked)."""
    held = terms_of(book)
    versions = held.history.versions
    today = held.history.on(book.day_rule.local_date(at)).day_rule.local_date(at)
    now = held.history.on(today)
    sees_remark = permits.sees(Role(seat.role), "terms-remark")
    shown = [
        ShownVersion(
            terms=terms,
            row=held.rows[n] if held.rows else None,
            until_on=versions[n + 1].from_on if n + 1 < len(versions) else None,
            holds=terms is now,
            is_to_come=n > 0 and terms.from_on > today,
            changes=change_words(versions[n - 1], terms) if n else (),
            remark=held.rows[n].house_remark if held.rows and sees_remark else "",
            entered=_entered(held.rows[n]) if held.rows else "",
            is_one_sided=bool(held.rows) and held.rows[n].is_one_sided,
            may_confirm=bool(held.rows) and _may_confirm(held.rows[n], Role(seat.role)),
        )
        for n, terms in enumerate(versions)
    ]
    proposal = next(iter(proposals_of_terms(book, seat, at=at)), None)
    return TermsPage(
        proposal=proposal,
        proposed=_proposed(proposal, held) if proposal else None,
        held=held,
        now=next(one for one in shown if one.holds),
        others=[one for one in reversed(shown) if not one.holds],
        consents=asked_rounds(book, held.history, at=at),
        may_consent=_may_consent(book, seat),
        today=today,
    )


def _entered(row: TermsVersion) -> str:
    entry, rule, line = row.entry, row.book.day_rule, row.confirmation
    confirmed = (line.by, rule.local_date(line.at)) if line is not None else None
    return entered_words(entry.by, rule.local_date(entry.at), entry.data.get("proposed"), confirmed)


def _may_confirm(row: TermsVersion, role: Role) -> bool:
    """Say whether this reader can confirm a version that the other side entered alone."""
    return row.is_one_sided and permits.may(role, Deed.CONFIRM_TERMS) and side_of(Role(row.entry.role)) != side_of(role)


def _proposed(card: ProposalCard, held: HeldTerms) -> ShownVersion:
    terms = terms_from_text(card.proposal.terms or {})
    before = None if held.is_implied else held.history.versions[-1]
    return ShownVersion(
        terms=terms,
        row=None,
        until_on=None,
        holds=False,
        is_to_come=True,
        changes=change_words(before, terms),
        remark="",
    )


def _may_consent(book: Book, seat: Seat) -> bool:
    """Say whether this seat speaks on rounds beyond the fee: the agent, or the illustrator where there is none."""
    role = Role(seat.role)
    if not permits.may(role, Deed.GIVE_CONSENT):
        return False
    if role == Role.AGENT:
        return True
    return not Seat.objects.filter(book=book, role=Role.AGENT, ended_at=None).exists()
