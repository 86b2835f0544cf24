"""The sentences for terms that cannot be kept: what is wrong, and what to do."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

TERM_REFUSALS: dict[str, Promise] = {
    "unknown-place": _(
        "The holidays of “{place}” are not known here. Choose a place from the list, for "
        "instance “England, United Kingdom”."
    ),
    "place-needs-part": _(
        "Which part of the {place}? Each keeps holidays that the whole does not, such as Easter Monday. Choose one of "
        "these: {parts}."
    ),
    "place-is-several": _("Which “{place}”? There are several. Choose one of these: {places}."),
    "range-backwards": _(
        "The closed or worked days from {first} until {last} run backwards. Put the earlier day first."
    ),
    "too-many-ranges": _("More than {most} ranges of closed or worked days cannot be kept. Join some of them."),
    "range-too-long": _(
        "The ranges of closed or worked days come to more than {most} days, which no house keeps. Look for a slip in "
        "a year."
    ),
    "too-many-places": _(
        "Terms keep the holidays of one or two places: the illustrator's and the publisher's. Remove the others."
    ),
    "unknown-zone": _("“{zone}” is not a time zone. Choose one from the list, for instance “London, Europe”."),
    "unknown-stage": _("“{stage}” is not a stage. Choose one from the stage plan."),
    "terms-without-stages": _("The terms name no stage. Give at least one stage its days and rounds."),
    "terms-stage-twice": _("{stage} is twice in the terms. Keep one line for it."),
    "negative-days-hand-in": _("The days for handing in {at_stage} must be a whole number from 0 to 400."),
    "negative-days-answer": _("The days for answering {at_stage} must be a whole number from 0 to 400."),
    "fixed-dates-backwards": _(
        "The date {day}, fixed for {at_stage}, comes before {start}, fixed for {stage}, which must be done first. "
        "Look for a slip in one of the two."
    ),
    "fixed-date-later": _(
        "These terms fix another date than the terms before them, or take one out, and would hold only from "
        "{begins_on}. Such a date changes on the day on which both sides agree: let the terms hold from {today} or "
        "earlier."
    ),
    "fixed-date-over": _(
        "These terms newly fix {day} for {at_stage}, and that day is over. Look for a slip of the year, or leave the "
        "date out."
    ),
    "negative-days-silence": _("The days for silence must be a whole number from 0 to 400."),
    "negative-moves": _("How often a date may be moved must be a whole number from 0 to 400."),
    "moves-used-up": _(
        "The terms say how often a date may be moved later ({most}), and this one was moved as often. Amend the terms "
        "first, or keep to the date."
    ),
    "negative-days-grace": _("The days of grace must be a whole number from 0 to 400."),
    "silence-without-days": _(
        "Silence at {stage} is to count on its own, but the terms do not name that stage. Add its line."
    ),
    "silence-needs-days": _("Say after how many days silence approves at {stage}, or that it follows the rest."),
    "negative-days-pay": _("The days for paying “{name}” must be a whole number from 0 to 400."),
    "negative-rounds": _("The rounds for “{group}” must be a whole number from 0 to {most}."),
    "new-work-without-days": _(
        "New work is to be outside the fee once {stage} is approved, but the terms do not name it. Add its line."
    ),
    "group-without-stages": _("The group “{group}” holds no stage. Give it one, or remove the group."),
    "stage-in-two-groups": _("{stage} is in two groups, so its rounds would be counted twice. Keep it in one."),
    "group-rounds-differ": _(
        "The stages of “{group}” share their rounds, but give different numbers of them. Give "
        "each of them the same number."
    ),
    "group-per-differs": _(
        "The stages of “{group}” share their rounds, but say differently whose rounds these are. Say the same at each."
    ),
    "group-without-days": _("{stage} is in a group but has no days to hand in and to answer. Add its line."),
    "bad-currency": _("“{currency}” is not a currency. Use its three capital letters, such as GBP or EUR."),
    "bad-amount": _("“{amount}” is not an amount of money. Write figures such as 1250 or 1250.50, not below zero."),
    "bad-decimals": _(
        "{currency} {amount} cannot be paid: {currency} has {decimals} decimals. Write no more than these."
    ),
    "instalments-not-whole": _(
        "The instalments come to {currency} {total}, but the fee is {currency} {fee}. Make them add up to the fee."
    ),
    "too-much-money": _("“{amount}” is more money than can be counted here. Write {most} or less."),
    "bad-share-instalment": _("The share of the instalment “{name}” must lie between 0 and 100 per cent."),
    "bad-share-cancellation": _("The share of the fee on cancellation must lie between 0 and 100 per cent."),
    "shares-not-whole": _("The instalments add up to {total} per cent of the fee. Make them 100."),
    "fee-missing": _("Shares need a fee to be a share of. Give the fee, or write the amounts out."),
    "instalment-needs-stage": _("The instalment “{name}” falls due at a stage. Say which."),
    "instalment-needs-date": _("The instalment “{name}” falls due on a date. Say which."),
    "instalment-needs-money": _("The instalment “{name}” has neither a share nor an amount. Give it one of the two."),
    "instalment-needs-part": _("The instalment “{name}” falls due for spreads that nobody knows. Choose which."),
    "bad-share-of-spreads": _(
        "The instalment “{name}” must wait for 1 to 100 per cent of the spreads. Write 50 for half the book."
    ),
    "after-days-need-approval": _(
        "Only an instalment on approval can fall due some days after delivery instead. Choose “Approved” for “{name}”, "
        "or leave the days out."
    ),
    "negative-days-after": _("The days after delivery of “{name}” must be a whole number from 0 to 400."),
    "signature-needs-date": _(
        "The instalment “{name}” falls due on signature, and the day of signing is missing. Give it."
    ),
    "instalment-name-twice": _(
        "Two instalments are called “{name}”, and an invoice could not say which it is for. Give each its own name."
    ),
    "price-needs-money": _("A price for changes has neither an amount nor a share of the fee. Give it one of the two."),
    "price-share-by-hour": _("An hour cannot cost a share of the fee. Write an amount."),
    "price-needs-stage": _("A price for changes names a stage that has no days in these terms. Add its line."),
    "price-twice": _("Two prices speak of the same changes. Keep one of them."),
    "bad-share-price": _("A price for changes must lie between 0 and 100 per cent of the fee."),
    "bad-share-free": _("The share of the fee up to which changes are free must lie between 0 and 100 per cent."),
    "cancellation-needs-stage": _(
        "A step of the kill fee after the start needs the stage that must have been reached."
    ),
    "cancellation-falls": _(
        "The kill fee falls from {before} to {after} per cent as the work goes "
        "on. "
        "Put the steps in order, or raise the later share."
    ),
    "silence-too-short": _(
        "Silence would approve after {days} days, before the {answer_days} days "
        "that "
        "the publisher has to answer {stage}. Make it longer, or switch it off."
    ),
    "amendment-in-past": _(
        "An amendment applies from {today} or later; what happened before stays under the "
        "terms "
        "of its time. Choose a later date."
    ),
    "amendment-out-of-order": _(
        "An amendment cannot apply before the one made earlier, from {earliest}. Choose that day or a later one."
    ),
    "amendment-same": _("These are the terms that already hold. Nothing was changed."),
    "terms-end-far-off": _(
        "With every day of these terms kept from {begins_on} on, {spread} would be done on {ends_on}, "
        "more than {most} years later. Give its stages fewer days."
    ),
    "terms-fresh": _(
        "The terms were changed by somebody else while you wrote. Look at them as they are now, then enter "
        "your change again."
    ),
    "consent-open": _("Consent for {where} was asked for already. It is used up by the next letter."),
    "consent-given": _("That consent was given already."),
    "consent-missing": _("Nobody is asking for that consent any more."),
    "consent-reason": _("Say in a few words why one more round is needed: whoever is asked to consent decides by it."),
    "consent-words": _("Say in a few words why not, so that the art director knows what to change."),
    "consent-not-given": _("There is no consent here to withdraw: it was not given, or a letter has used it already."),
    "not-silent": _("This was answered meanwhile, so silence approves nothing here."),
    "silence-cannot-choose": _(
        "Several pictures were handed in, and silence cannot choose between them. The publisher still answers."
    ),
    "silence-not-yet": _(
        "Silence does not count as approval here yet: its day has not passed, the art director was not "
        "warned early enough, or the terms do not say so."
    ),
    "consent-not-needed": _("The terms do not ask for anybody’s consent to extra rounds."),
    "agent-speaks": _("This book has an agent, who answers for extra rounds. Ask the agent."),
    "statement-day": _("Give the day of the statement as year, month and day, not after today."),
    "over-needs-consent": _(
        "This letter asks for extra rounds ({where}), and the terms ask for the agent’s "
        "consent to that. Ask for it and wait until it is given, or take the change out of the letter."
    ),
    "over-waits": _(
        "This letter asks for extra rounds ({where}). Consent to that is asked for and not given "
        "yet: wait for the answer, or take the change out of the letter."
    ),
    "over-refused": _(
        "This letter asks for extra rounds ({where}), and the terms allow no more. Take the "
        "change out of the letter, or agree an amendment first."
    ),
    "three-points-out-of-order": _(
        "Of three estimates the shortest comes first and the longest last, none below zero. Put them in order."
    ),
    "bad-terms": _("The terms cannot be read: {why}. Correct that line."),
    "bad-terms-missing": _("The terms cannot be read: “{key}” is missing. Correct that line."),
    "bad-terms-figure": _("The terms cannot be read: a figure is not a number. Correct that line."),
    "bad-terms-empty": _("The terms cannot be read: there is no version in them. Correct that line."),
}
