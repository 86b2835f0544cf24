"""The guide of each part, in words: what one comes for, how it goes, and where a figure may cost money."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from reviews.rules.states import Role


@dataclass(frozen=True)
class PartGuide:
    """One part's guide: a sentence, steps of a head and its words, and a caution where figures may cost money."""

    lead: Promise
    steps: tuple[tuple[Promise, Promise], ...]
    caution: Promise | None = None


_CONTRACT = _(
    "Rounds, days and fees are counted from what was entered and done here. Before you act on one with money, hold it "
    "against the signed contract and local law; they decide."
)
_PRINTER = _(
    "Spine, ink, plates and proofs are judged by the figures that were entered. Before you order or print by "
    "them, hold them against the printer’s own specification and the measured contract proof; they decide."
)
_ADVICE = (
    _("Your notes are the publisher’s own"),
    _("The art director decides what of them goes into the letter; the illustrator sees only that."),
)
_VOTING = (
    _("Mark, or vote"),
    _(
        "Say closest, maybe or not this, and why. Where a vote is open, put the options in your order; you can "
        "change it until the vote is closed, and until then no page shows it to anybody else."
    ),
)
_ADVISED = _("The publisher’s side sees what you said. The art director decides, or whoever is named to decide a vote.")

GUIDES: Mapping[Role, PartGuide] = {
    Role.ILLUSTRATOR: PartGuide(
        _("You hand in, read one letter a round, answer it and hand in again."),
        (
            (
                _("Hand in"),
                _(
                    "Your desk lists what is due, soonest first. Put the pictures in, read what is said of size "
                    "and of what changed, write the cover note, hand in. A hand-in never changes; a mistaken one "
                    "can be taken back until it is answered."
                ),
            ),
            (
                _("Read the letter"),
                _(
                    "No note of the publisher’s side reaches you before its letter is sent; the brief, the text and "
                    "proposals do at once. Each note has a number and a place. Your next version shows it where its "
                    "subject seems to be now, or says that this cannot be told."
                ),
            ),
            (_("Answer each note"), _("Done, not done with the reason, or a question. Praise asks for no answer.")),
            (
                _("Dates, terms, pauses"),
                _(
                    "Each is proposed by one side and holds once the other accepts. The account shows the rounds "
                    "used and whose days were spent; the statement says the same for your agent."
                ),
            ),
        ),
        _CONTRACT,
    ),
    Role.ART_DIRECTOR: PartGuide(
        _("You gather everyone’s notes and send one letter: approve, approve with small notes, or ask for changes."),
        (
            (
                _("Mark"),
                _(
                    "Open what waits on your desk. A point, a box, an outline or a drawing with its words becomes "
                    "a note of the letter being written. Everybody’s notes come together there."
                ),
            ),
            (
                _("Decide and answer"),
                _(
                    "Let a note through, reword it, or leave it out. Give each spread its answer, on the table or "
                    "in the letter. The illustrator sees nothing of it until you send."
                ),
            ),
            (
                _("Send"),
                _(
                    "Before it goes you read what the letter does: which rounds it uses, which are extra, which "
                    "dates move. A stage with two sign-offs also waits for the editor’s word."
                ),
            ),
            (
                _("Seats, stages, votes"),
                _(
                    "You seat the publisher’s people, set stages and pages, and put options to a vote. A vote "
                    "advises; only the letter approves."
                ),
            ),
        ),
        _CONTRACT,
    ),
    Role.EDITOR: PartGuide(
        _("You hold the art against the text, and your sign-off counts where a stage asks for two."),
        (
            (
                _("The words"),
                _(
                    "Bring the manuscript, write the brief, place the text on its pages. The page of a spread’s "
                    "text says where block and brief differ."
                ),
            ),
            (_("Mark"), _("Your notes wait for the art director, who puts them in the letter or holds them back.")),
            (
                _("Sign off"),
                _("Agree, or object and say why. Until you agree, such an approval does not count and nothing opens."),
            ),
            (
                _("Ask others, decide votes"),
                _(
                    "Ask author and expert reader about spreads by name. If you were named to decide a vote, it "
                    "comes to your desk once it is closed."
                ),
            ),
        ),
        _(
            "A change of text after an approved sketch is told to both sides, and can cost a round or a fee. The "
            "signed contract says which; hold it against that before you change a word."
        ),
    ),
    Role.AGENT: PartGuide(
        _("You see that rounds, days and payments stay inside the contract, and have the figures to prove it."),
        (
            (_("Your desk"), _("It lists what is over its rounds and what is late, on both sides.")),
            (
                _("Account and statement"),
                _(
                    "Every figure names the entries it comes from. The statement can be sent to anybody, and whoever "
                    "recounts it from its data gets the same."
                ),
            ),
            (
                _("Terms and money"),
                _(
                    "Propose and accept terms. Tell invoices and what came of them. What was told by one side "
                    "alone settles nothing; where the sides differ, the statement says both."
                ),
            ),
            (
                _("Proof"),
                _(
                    "Keep the code of a letter or statement: it shows whether anything before that line was "
                    "changed since."
                ),
            ),
        ),
        _CONTRACT,
    ),
    Role.PRODUCTION: PartGuide(
        _("You see to it that the book can be printed: geometry, ink, finish and proofs."),
        (
            (
                _("Print set-up"),
                _(
                    "Binding, paper, bleed, gutter and ink limit. Each figure begins at a published value that is "
                    "named beside it; put the printer’s in its place."
                ),
            ),
            (
                _("Check"),
                _(
                    "Beside each picture is what speaks against it in print, where, how bad, and what was not "
                    "looked at. Tell what a plate is for, and it is measured too."
                ),
            ),
            (
                _("Proofs"),
                _(
                    "Hand in the printer’s proofs and F&Gs, bring measured ones, and say whose error a fault is. "
                    "While the printer has one, its days are neither side’s."
                ),
            ),
        ),
        _PRINTER,
    ),
    Role.GUEST: PartGuide(
        _("You are asked about the options of one spread. You see nothing else of the book, and need no account."),
        (_VOTING, (_("It advises"), _ADVISED)),
    ),
    Role.AUTHOR: PartGuide(
        _("You are asked about spreads by name, and read how the art goes with your words."),
        (
            (
                _("Look and note"),
                _("Open a spread you are asked about and mark a place, or say that there is nothing to note."),
            ),
            _ADVICE,
        ),
    ),
    Role.DESIGNER: PartGuide(
        _("You see to type, trim and fold before the letter goes."),
        (
            (
                _("Text on its pages"),
                _(
                    "Bring the manuscript or place each block: size, face, colour and a box in mm. Block and art "
                    "are judged together: gutter, safe area, and from line on whether it can be read."
                ),
            ),
            (
                _("Check the layout"),
                _("What is handed in comes to your desk until you marked it or had nothing to note."),
            ),
            _ADVICE,
        ),
        _PRINTER,
    ),
    Role.SALES: PartGuide(
        _("You see the cover and what is approved."),
        (_VOTING, (_("It advises"), _ADVISED)),
    ),
    Role.READER: PartGuide(
        _("You are asked whether something is right, on spreads that are named."),
        (
            (
                _("Look and note"),
                _("Open a spread you are asked about and mark the place, or say that there is nothing to note."),
            ),
            _ADVICE,
        ),
    ),
}
