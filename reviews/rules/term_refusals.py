"""The sentences for terms that cannot be kept: what is wrong, and what to do."""

from __future__ import annotations

TERM_REFUSALS: dict[str, str] = {
    "unknown-place": "The holidays of “{place}” are not known here. Choose a place from the list, for "
    "instance “England, United Kingdom”.",
    "too-many-places": "Terms keep the holidays of one or two places: the illustrator's and the publisher's. "
    "Remove the others.",
    "unknown-zone": "“{zone}” is not a time zone. Choose one from the list, for instance “London, Europe”.",
    "unknown-stage": "“{stage}” is not a stage. Choose one from the stage plan.",
    "terms-without-stages": "The terms name no stage. Give at least one stage its days and rounds.",
    "terms-stage-twice": "{stage} stands twice in the terms. Keep one line for it.",
    "negative-days": "The days for {what} must be a whole number from 0 to 400.",
    "negative-rounds": "The rounds for “{group}” must be a whole number from 0 to 20.",
    "group-without-stages": "The group “{group}” holds no stage. Give it one, or remove the group.",
    "stage-in-two-groups": "{stage} is in two groups, so its rounds would be counted twice. Keep it in one.",
    "group-rounds-differ": "The stages of “{group}” share their rounds, but give different numbers of them. Give "
    "each of them the same number.",
    "group-without-days": "{stage} is in a group but has no days to hand in and to answer. Add its line.",
    "bad-currency": "“{currency}” is not a currency. Use its three capital letters, such as GBP or EUR.",
    "bad-amount": "“{amount}” is not an amount of money. Write figures such as 1250 or 1250.50, not below zero.",
    "too-much-money": "“{amount}” is more money than can be counted here. Write {most} or less.",
    "bad-share": "The share of {what} must lie between 0 and 100 per cent.",
    "shares-not-whole": "The instalments add up to {total} per cent of the fee. Make them 100.",
    "fee-missing": "Shares need a fee to be a share of. Give the fee, or write the amounts out.",
    "instalment-needs-stage": "The instalment “{name}” falls due at a stage. Say which.",
    "instalment-needs-date": "The instalment “{name}” falls due on a date. Say which.",
    "instalment-needs-money": "The instalment “{name}” has neither a share nor an amount. Give it one of the two.",
    "cancellation-needs-stage": "A cancellation share after the start needs the stage that must have been reached.",
    "cancellation-falls": "The cancellation share falls from {before} to {after} per cent as the work goes "
    "on. "
    "Put the steps in order, or raise the later share.",
    "silence-too-short": "Silence would approve after {days} working days, before the {answer_days} days "
    "that "
    "the publisher has to answer {stage}. Make it longer, or switch it off.",
    "amendment-in-past": "An amendment applies from {today} or later; what happened before stays under the "
    "terms "
    "of its time. Choose a later date.",
    "amendment-out-of-order": "An amendment cannot apply before the one made earlier, from {earliest}. "
    "Choose that day or a later one.",
    "amendment-same": "These are the terms that already hold. Nothing was changed.",
    "terms-end-far-off": "With every day of these terms kept from {begins_on} on, {spread} would be done on {ends_on}, "
    "more than {most} years later. Give its stages fewer days.",
    "terms-fresh": "The terms were changed by somebody else while you wrote. Look at them as they stand, then enter "
    "your change again.",
    "consent-open": "Consent for {where} was asked for already. It is used up by the next letter.",
    "consent-given": "That consent was given already.",
    "consent-missing": "Nobody is asking for that consent any more.",
    "consent-reason": "Say in a few words why one more round is needed: whoever is asked to consent decides by it.",
    "consent-words": "Say in a few words why not, so that the art director knows what to change.",
    "consent-not-given": "There is no consent here to withdraw: it was not given, or a letter has used it already.",
    "not-silent": "This was answered meanwhile, so silence approves nothing here.",
    "silence-cannot-choose": "Several pictures were handed in, and silence cannot choose between them. The publisher "
    "still answers.",
    "silence-not-yet": "Silence does not count as approval here yet: its day has not passed, the art director was not "
    "warned in time, or the terms do not say so.",
    "consent-not-needed": "The terms do not ask for anybody’s consent to go beyond the rounds in the fee.",
    "agent-speaks": "This book has an agent, who answers for rounds beyond the fee. Ask the agent.",
    "statement-day": "Give the day of the statement as year, month and day, not after today.",
    "over-needs-consent": "This letter goes beyond the rounds in the fee ({where}), and the terms ask for the agent’s "
    "consent to that. Ask for it and wait until it is given, or take the change out of the letter.",
    "over-waits": "This letter goes beyond the rounds in the fee ({where}). Consent to that is asked for and not given "
    "yet: wait for the answer, or take the change out of the letter.",
    "over-refused": "This letter goes beyond the rounds in the fee ({where}), and the terms allow no more. Take the "
    "change out of the letter, or agree an amendment first.",
    "three-points-out-of-order": "Of three estimates the shortest comes first and the longest last, none below zero. "
    "Put them in order.",
    "bad-terms-file": "{file} cannot be recounted: {why}. Export it again.",
    "bad-terms": "The terms cannot be read: {why}. Correct that line.",
}
