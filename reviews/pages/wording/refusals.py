"""The sentence for every refusal: what is wrong, and what to do."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from reviews.pages.wording import press
from reviews.pages.wording.agreements import PROPOSAL_REFUSALS
from reviews.pages.wording.briefs import BRIEF_REFUSALS
from reviews.pages.wording.dates import day_words
from reviews.pages.wording.manuscript import MANUSCRIPT_REFUSALS
from reviews.pages.wording.money_refusals import MONEY_REFUSALS
from reviews.pages.wording.names import stage_in_a_sentence, stage_words
from reviews.pages.wording.page_changes import PAGE_REFUSALS
from reviews.pages.wording.pauses import PAUSE_REFUSALS
from reviews.pages.wording.pieces import TEMPLATE_REFUSALS
from reviews.pages.wording.plates import PLATE_REFUSALS
from reviews.pages.wording.print_set_up import FIGURE_WORDS, PRINT_REFUSALS
from reviews.pages.wording.reading import READING_REFUSALS
from reviews.pages.wording.repagination import MOVING_REFUSALS
from reviews.pages.wording.seen_proofs import SEEN_PROOF_REFUSALS
from reviews.pages.wording.soft_proofs import SOFT_PROOF_REFUSALS
from reviews.pages.wording.stage_names import NAMING_REFUSALS
from reviews.pages.wording.term_refusals import TERM_REFUSALS
from reviews.pages.wording.text_blocks import TEXT_REFUSALS
from reviews.pages.wording.votes import VOTE_REFUSALS
from reviews.press.refused import CannotPrint
from reviews.press.set_up import PrintFigure
from reviews.rules.states import Refused, StageKind

REFUSALS: dict[str, Promise] = {
    **TERM_REFUSALS,
    **MONEY_REFUSALS,
    # A layout of pages that cannot exist is refused by the printed object.
    **press.REFUSED,
    **TEMPLATE_REFUSALS,
    **PRINT_REFUSALS,
    **PLATE_REFUSALS,
    **SOFT_PROOF_REFUSALS,
    **SEEN_PROOF_REFUSALS,
    **BRIEF_REFUSALS,
    **TEXT_REFUSALS,
    **MANUSCRIPT_REFUSALS,
    **PAUSE_REFUSALS,
    **PROPOSAL_REFUSALS,
    **READING_REFUSALS,
    **NAMING_REFUSALS,
    **MOVING_REFUSALS,
    **PAGE_REFUSALS,
    **VOTE_REFUSALS,
    "trim-sketch-approved": _(
        "A sketch is approved, and it is composed for this page size. For another one, set up the book anew."
    ),
    "trim-reason": _("Say why the page size changes: both sides read it."),
    "trim-out-of-range": _("A page is between {smallest} and {largest} mm wide and high. Check the figures."),
    "not-yours": _("Your seat on this book does not allow this. Ask the art director if it should."),
    "not-now": _("This cannot be done at this point. Look at its state and try again later."),
    "strokes-unreadable": _("What you drew could not be read. Draw it again, or mark the place by a box."),
    "strokes-too-many": _("A drawing has {n} strokes at most. Send this one, and go on in another note."),
    "strokes-too-long": _("That is more than one note can hold. Send a part of it, and go on in another note."),
    "not-open": _("This stage is not open yet. It opens when the stage before it is approved."),
    "publisher-is-answering": _("The publisher is answering your last hand-in. Withdraw it first if it was a mistake."),
    "already-approved": _("This stage is approved. The art director must ask for a change before you hand in again."),
    "refused-pictures": _("{count} of the pictures could not be read. Remove or replace them, then hand in."),
    "unread-pictures": _(
        "{count} of the pictures are still being processed. Wait until each shows its size, then hand in."
    ),
    "no-pictures": _("There is no picture to hand in yet. Add at least one."),
    "draft-too-full": _("A hand-in holds up to {most} pictures, and this draft has {n}. Take some out, then hand in."),
    "too-many-pictures": _("A hand-in holds up to 20 pictures. Remove one before you add another."),
    "draft-keeps-many": _(
        "This draft keeps {n} files, with those that were taken out of it, and takes no more. "
        "Hand in what is in it; the next draft begins afresh."
    ),
    "draft-too-heavy": _(
        "This draft keeps {used} MB, with what was taken out of it, and with this file it would keep "
        "more than {most} MB. Save the file smaller, or hand in what is in the draft; the next one begins afresh."
    ),
    "already-handed-in": _("This was already handed in. Nothing was sent twice."),
    "passed-on": _("This stage needed no answer and has passed on. Hand in a new version instead."),
    "already-answered": _(
        "This hand-in was already answered, or a newer one took its place. Look at the spread again."
    ),
    "approval-pending": _(
        "The art director approved this and the second sign-off is due. It can no longer be withdrawn."
    ),
    "nothing-handed-in": _("Nothing has been handed in for this stage, so there is nothing to answer."),
    "handed-in-since": _(
        "This spread changed while you wrote: look at its newest hand-in, then give your answer again."
    ),
    "brief-after-approval": _(
        "This picture was approved, so a change to it is a new direction or a changed text, "
        "not a brief that was missed. Change the cause of the note."
    ),
    "reopen-needs-cause": _(
        "Asking for a change to an approved picture needs at least one note whose cause is "
        "a new direction or a changed text."
    ),
    "not-waiting-for-answer": _("This spread is not waiting for an answer now. Take it out of the letter."),
    "ask-without-notes": _("You ask for changes but include no note. Add a note, or include one, then send."),
    "choose-the-picture": _("Several pictures were handed in: choose which one you approve."),
    "not-its-picture": _("That picture does not belong to this hand-in. Look at the spread again."),
    "one-voice-is-enough": _("This stage needs one sign-off only; the art director's letter decides."),
    "agree-to-nothing": _("No spread was named to agree to."),
    "agree-to-others": _(
        "One of these spreads waits for no agreement any more, so nothing was agreed to. "
        "Read the row again as it stands now."
    ),
    "objection-needs-words": _("Say why you do not agree, so that the art director can answer it."),
    "note-is-sent": _("This note went out with a letter. It can no longer be changed; reply to it instead."),
    "note-is-gone": _("This note was withdrawn."),
    "note-changed": _(
        "This note was changed meanwhile, in another tab or by somebody else. It says now: “{said}”. Yours is not "
        "kept yet: read both, then keep the one you mean."
    ),
    "lines-changed": _(
        "The opening lines were changed meanwhile, in another tab or by somebody else. They say now: “{said}”. Yours "
        "are not kept yet: read both, then keep the ones you mean."
    ),
    "not-your-note": _("Only the person who wrote this note can change it."),
    "note-needs-words": _("A note needs words: say what is asked."),
    "proof-is-productions": _(
        "Proofs and F&Gs come from the printer, so production hands them in. You are told when one is here, and see it "
        "then."
    ),
    "art-is-the-illustrators": _(
        "The illustrator hands in the art of this stage. Production hands in proofs and F&Gs."
    ),
    "note-is-productions": _("This note is on what the printer made: it goes back there, and production answers it."),
    "note-is-the-illustrators": _("This note is on the illustrator’s art, so the illustrator answers it."),
    "praise-asks-nothing": _("Praise asks for nothing, so there is nothing to answer. Reply to it if you like."),
    "note-not-on-book": _("Only a note on the whole book is answered spread by spread."),
    "note-not-about": _("Tick the spreads that your answer is for; the note must be about each of them."),
    "note-reach": _("Say what the note is about: a marked place, the whole spread, or the whole book."),
    "note-pages": _(
        "Write pages as numbers, such as 4–5, 8; “cover” for the cover. Leave it empty for the whole book. Pages that "
        "are not in this book cannot be meant."
    ),
    "bad-error": _("Say whose error it is: the printer’s, the file’s, the art’s, the text’s, or nobody’s."),
    "error-and-cause": _(
        "The printer’s error has “The printer’s error” as its reason, and nothing else has. Choose both, or neither."
    ),
    "printer-at-proof": _("Only a proof or F&Gs can show an error of the printer’s. Choose another reason."),
    "nothing-to-look-over": _("There is nothing here to look over now: it is not waiting for an answer."),
    "bad-region": _("That mark does not lie on the picture. Draw it again."),
    "not-placed-by-hand": _("Nobody placed this note by hand here, so it is where it was found."),
    "bad-cause": _(
        "Choose why you write this: brief not met, new direction, text changed, production, the printer’s error, "
        "a question, or praise."
    ),
    "no-answer-yet": _("There is no letter to answer for this note yet."),
    "response-needs-words": _("Say why this is not done, or what your question is."),
    "reply-needs-words": _("Write a few words before you reply."),
    "not-an-idea": _("Options are marked at the idea stage only. Add a note instead."),
    "mark-gone": _("There is no mark of yours on this option, so there is none to take back."),
    "choose-an-answer": _("Choose an answer for this spread: approve, approve with small notes, or ask for changes."),
    "weigh-how": _("Choose whether this note goes into the letter or is left out."),
    "words-too-long": _("The opening lines are too long for a letter. Keep them under 8000 characters."),
    "letter-empty": _("This letter answers no spread yet. Give at least one spread its answer."),
    "brief-needs-yes": _(
        "Notes of this letter say that the brief was not met, and it approves {where}. Read the letter, and say on its "
        "page that you approve it all the same; or ask for changes."
    ),
    "letter-sent": _("This letter was already sent. Nothing was sent twice."),
    "letter-changed": _("The letter changed since you looked at what it will do. Read it again, then send."),
    "over-needs-yes": _("This letter asks for extra rounds. Say yes to that before you send it."),
    "answer-gone": _("That spread is not in the letter any more."),
    "empty-plan": _("A stage plan needs at least one stage."),
    "stage-twice": _("A stage is twice in the plan. Keep each stage once."),
    "stage-order": _(
        "The stages are out of order: ideas come first, then the sketches, a proof after the art, and F&Gs last; a "
        "special finish lies on art that is there. Line, ink, flats and colour can follow each other as you like."
    ),
    "not-passed-over": _(
        "Tick spreads on which this stage was passed over. It may have been opened meanwhile: look again."
    ),
    "order-opened": _(
        "The stage “{stage}” has opened, so it keeps its place: work went by it. Those that "
        "have not opened can still change places."
    ),
    "bad-days": _("Days must be whole numbers from 0 to 400."),
    "bad-rounds": _("Rounds must be whole numbers from 0 to 20."),
    "nobody-answers": _(
        "In this plan the publisher never answers, so nothing could be approved. Let at least one stage be answered."
    ),
    "stage-begun": _("{stage} has begun on {spread}, so it cannot be taken out of the plan."),
    "gate-begun": _("{stage} has begun, so who sees and answers it stays as it was when it was drawn."),
    "spread-begun": _("{spread} already has a hand-in, so its pages stay as they are."),
    "stage-dated": _("{stage} has begun on a spread whose date was moved, so it cannot be taken out of the plan."),
    "second-step-stands": _("The second step is on already. Turn it off first if you have a new telephone."),
    "second-step-none": _("No second step was begun. Begin it on your own page."),
    "second-step-code": _(
        "That is not the code that your telephone shows now. Wait for the next one and type it at "
        "once; if none is right, the telephone's clock may be wrong."
    ),
    "not-our-form": _("This form came without the proof that a page of ours made it. Load the page and send it again."),
    "spread-elsewhere": _(
        "Those pages are not in the same book now. Load the page again and choose two that face each other."
    ),
    "date-unreadable": _("A date moves to a day, with a reason: fill in both, then move it."),
    "date-past": _("That date is not a working day on or after today. Choose another."),
    "day-far-off": _("{day} is more than {most} years away. Check the year."),
    "reason-missing": _("A date moves with a reason. Write one line that both sides will read."),
    "same-date": _("That is the date it already has."),
    "nothing-changed": _("Nothing differs from what is there, so nothing was changed."),
    "title-missing": _("A book needs a title; a working title will do."),
    "final-date-reason": _("Say why the last day moves: both sides read the reason."),
    "final-date-past": _("That day is past. Give one that is still to come, or leave it empty."),
    "final-date-too-soon": _(
        "The plan cannot be done by that date: work would have had to start on {start}. "
        "Choose a later date or fewer days per stage."
    ),
    "unknown-plan": _("Choose one of the ready plans."),
    "some-not-invited": _("Nobody was invited: put right what is named below, and send it again. Nothing was lost."),
    "bad-email": _("That is not an e-mail address. Check it and invite again."),
    "already-seated": _("{email} already has a seat on this book."),
    "invited-twice": _("{email} is named twice. Keep one line of it."),
    "already-invited": _("An invitation to {email} is still open. Revoke it first, or wait for the answer."),
    "invites-director-only": _(
        "You can invite the first art director, as long as the book never had one. "
        "The publisher’s side invites its own people."
    ),
    "agent-is-theirs": _("The agent speaks for the illustrator, so the illustrator or a sitting agent invites them."),
    "illustrator-is-theirs": _(
        "This book has had its illustrator, so only the illustrator or their agent can offer that "
        "seat. Ask them to. If both are gone for good, set up a new book for whoever goes on: this one stays as it is, "
        "with its ledger."
    ),
    "seat-other-side": _("That seat is the other side’s: only its own people end it. Write to them."),
    "guest-needs-passage": _("A cover-meeting guest is invited to one spread at one stage. Choose it."),
    "invitation-used": _("This invitation was already used. Sign in, or ask for a new one."),
    "invitation-expired": _("This invitation has expired. Ask whoever sent it for a new one."),
    "invitation-unknown": _("This is not a link to an invitation. Open the whole link from the mail."),
    "password-link-ended": _(
        "This link was used, or is more than a day old, or you signed in since. Ask for a new one."
    ),
    "invitation-revoked": _("This invitation was taken back. Ask whoever sent it if that is a mistake."),
    "invitation-overtaken": _(
        "Somebody holds this seat by now, or has held it, so this invitation opens none any more. Ask them for one."
    ),
    "invitation-other-person": _("This invitation went to another address. Sign out, then open the link again."),
    "email-taken": _("There is already an account for this address. Sign in, then open the link again."),
    "last-art-director": _("A book needs an art director. Seat another one first."),
    "seat-ended": _("This seat has already ended."),
    "seat-missing": _("You have no seat on this book."),
    "picture-gone": _("That picture was already removed."),
    "bad-order": _("The order does not name exactly the pictures of this hand-in. Load the page again."),
    "not-your-draft": _("This draft belongs to another illustrator."),
    "one-sheet": _("Tick two or more sheets that share a strip of the drawing, then join them."),
    "too-many-sheets": _("Up to {most} sheets are joined at once. Tick fewer, and join what comes of them afterwards."),
    "ink-of-one": _("The ink is taken from one scan at a time. Tick one picture."),
    "turn-of-one": _("Tick one picture to turn or crop; others come after it."),
    "nothing-to-turn": _("Choose how far to turn the picture, or how much to crop from a side."),
    "bad-cut": _("Crop between 0 and {most} per cent from each side, in whole numbers."),
    "bad-point": _("Say where the stroke is between 0 and 100 per cent from the left and from the top."),
    "one-page": _("{name} has no further pages that could be taken out of it."),
    "bad-pages": _("Name pages from 1 to {n}, like 1-3 or 2, 4."),
    "too-many-pages-taken": _(
        "With these {n} pages the hand-in would hold more than {most} pictures. Name fewer pages."
    ),
    "sheet-gone": _("One of the pictures you ticked is not in this draft any more. Tick them again."),
    "sheet-unread": _("{name} is still being processed. Wait until it is ready, then ask again."),
    "sheet-refused": _("{name} could not be read as a picture, so it is no use as a scan. Take it out and scan again."),
    "sheet-too-large": _(
        "{name} is {size} pixels; a sheet may have {most} a side here, which is A3 at 600 ppi. "
        "Scan it at a lower resolution."
    ),
    "bad-making": _(
        "Choose what to do with the pictures you ticked: join the sheets, leave only the ink, or turn and crop one."
    ),
    "still-being-made": _("This picture is still being made. Wait for it, then keep or drop it."),
    "was-not-made": _("This picture could not be made, so there is nothing to keep."),
    "built-upon": _("{name} was made from this picture and is kept. Drop that one first."),
    "bad-choice": _("Keep the new picture or drop it."),
    "setup-done": _("The first account exists already. Sign in."),
    "file-too-large": _("{name} is larger than {limit}. Save a smaller copy, or ask for the limit to be raised."),
    "upload-too-large": _(
        "“{name}” is {size} MB; one file may have {limit} MB here. Save it smaller, or ask whoever runs this "
        "Roughproof to raise the limit."
    ),
    "body-too-large": _("This is {size} MB; {limit} MB may be sent at once here. Nothing was kept."),
    "body-too-large-unknown": _(
        "This is {size} MB; {limit} MB may be sent at once here from somebody who is not signed in. "
        "Sign in first if you hand in pictures. Nothing was kept."
    ),
    "disk-nearly-full": _(
        "The disk of this Roughproof is nearly full, so it takes no files now. Nothing was kept. Tell whoever runs it, "
        "then send it again."
    ),
    "upload-empty": _("“{name}” is empty. Save it again and choose it once more."),
    "file-empty": _("{name} is empty (0 bytes). Save it again and choose it once more."),
    "ballot-empty": _("Rank at least one option, then hand in your vote."),
    "ballot-names-twice": _("An option is in your order twice. Put each in one place."),
    "ballot-names-unknown": _("Your order names an option that is not on offer any more. Load the page again."),
}


def sentence_for(refused: Refused) -> str:
    """Put a refusal in words."""
    if refused.code in press.REFUSED:
        return press.refusal(CannotPrint(refused.code, **refused.values))
    values = {name: _IN_WORDS.get(name, _as_it_is)(value) for name, value in refused.values.items()}
    return str(REFUSALS[refused.code]).format(**values)


def _as_it_is(value: Any) -> Any:
    return value


def _stage(value: str) -> str:
    # What is no stage is repeated as it was written: then that is what is wrong.
    return stage_words(value) if value in set(StageKind) else value


def _figure(value: str) -> str:
    return str(FIGURE_WORDS[PrintFigure(value)]) if value in set(PrintFigure) else value


def _day_as_typed(day: date) -> str:
    # A year of two figures is what is wrong with it: it must not be filled up to four.
    return day_words(day) if day.year > 999 else f"{date_format(day, 'j F')} {day.year}"


#: Values that are codes or days. Every other stands in the sentence as it is.
_IN_WORDS: dict[str, Callable[[Any], Any]] = {
    "stage": _stage,
    "figure": _figure,
    "at_stage": stage_in_a_sentence,
    "day": _day_as_typed,
    "start": day_words,
    "begins_on": day_words,
    "ends_on": day_words,
    "today": day_words,
}
