"""The sentence for every refusal: what is wrong, and what to do."""

from __future__ import annotations

from reviews.rules.states import Refused
from reviews.rules.term_refusals import TERM_REFUSALS

REFUSALS: dict[str, str] = {
    **TERM_REFUSALS,
    "not-yours": "Your seat on this book does not allow this. Ask the art director if it should.",
    "not-now": "This cannot be done where the passage stands now. Look at its state and try again later.",
    "not-open": "This stage is not open yet. It opens when the stage before it is approved.",
    "publisher-is-answering": "The publisher is answering your last hand-in. Withdraw it first if it was a mistake.",
    "already-approved": "This stage is approved. The art director must ask for a change before you hand in again.",
    "refused-pictures": "{count} of the pictures could not be read. Remove or replace them, then hand in.",
    "unread-pictures": "{count} of the pictures are still being read. Wait until each shows its size, then hand in.",
    "no-pictures": "There is no picture to hand in yet. Add at least one.",
    "draft-too-full": "A hand-in holds up to {most} pictures, and this draft has {n}. Take some out, then hand in.",
    "too-many-pictures": "A hand-in holds up to 20 pictures. Remove one before you add another.",
    "draft-keeps-many": "This draft keeps {n} files, with those that were taken out of it, and takes no more. "
    "Hand in what stands in it; the next draft begins afresh.",
    "draft-too-heavy": "This draft keeps {used} MB, with what was taken out of it, and with this file it would keep "
    "more than {most} MB. Save the file smaller, or hand in what stands in the draft; the next one begins afresh.",
    "already-handed-in": "This was already handed in. Nothing was sent twice.",
    "passed-on": "This stage needed no answer and has passed on. Hand in a new version instead.",
    "already-answered": "This hand-in was already answered, or a newer one took its place. Look at the passage again.",
    "approval-pending": "The art director approved this and the second voice is due. It can no longer be withdrawn.",
    "nothing-handed-in": "Nothing has been handed in for this passage, so there is nothing to answer.",
    "handed-in-since": "This passage changed while you wrote: look at its newest hand-in, then give your answer again.",
    "brief-after-approval": "This picture was approved, so a change to it is a new direction or a changed text, "
    "not a brief that was missed. Change the cause of the note.",
    "reopen-needs-cause": "Asking for a change to an approved picture needs at least one note whose cause is "
    "a new direction or a changed text.",
    "not-waiting-for-answer": "This passage is not waiting for an answer now. Take it out of the letter.",
    "ask-without-notes": "You ask for changes but let no note through. Pin a note, or let one through, then send.",
    "choose-the-picture": "Several pictures were handed in: choose which one you approve.",
    "not-its-picture": "That picture does not belong to this hand-in. Look at the passage again.",
    "one-voice-is-enough": "This stage needs one voice only; the art director's letter decides.",
    "objection-needs-words": "Say why you do not agree, so that the art director can answer it.",
    "note-is-sent": "This note went out with a letter. It can no longer be changed; reply to it instead.",
    "note-is-gone": "This note was withdrawn.",
    "not-your-note": "Only the person who wrote this note can change it.",
    "note-needs-words": "A note needs words: say what is asked.",
    "bad-region": "That mark does not lie on the picture. Draw it again.",
    "not-placed-by-hand": "Nobody placed this note by hand here, so it stands where it was found.",
    "bad-cause": "Choose why this is asked: brief not met, new direction, text changed, or a question.",
    "no-answer-yet": "There is no letter to answer for this note yet.",
    "response-needs-words": "Say why this is not done, or what your question is.",
    "reply-needs-words": "Write a few words before you reply.",
    "not-an-idea": "Options are marked at the idea stage only. Pin a note instead.",
    "choose-an-answer": "Choose an answer for this spread: approve, approve with small notes, or ask for changes.",
    "weigh-how": "Choose whether this note goes into the letter or is held back.",
    "words-too-long": "The opening lines are too long for a letter. Keep them under 8000 characters.",
    "letter-empty": "This letter answers no passage yet. Give at least one spread its answer.",
    "letter-sent": "This letter was already sent. Nothing was sent twice.",
    "letter-changed": "The letter changed since you looked at what it will do. Read it again, then send.",
    "over-needs-yes": "This letter goes beyond the rounds in the fee. Say yes to that before you send it.",
    "answer-gone": "That passage is not in the letter any more.",
    "empty-plan": "A stage plan needs at least one stage.",
    "stage-twice": "A stage stands twice in the plan. Keep each stage once.",
    "stage-order": "The stages are out of order: ideas, sketch, full sketch, line, ink, flats, colour, finish, proof.",
    "bad-days": "Days must be whole numbers from 0 to 400.",
    "bad-rounds": "Rounds must be whole numbers from 0 to 20.",
    "nobody-answers": "In this plan the publisher never answers, so nothing could be approved. "
    "Let at least one stage be answered.",
    "stage-begun": "{stage} has begun on {spread}, so it cannot be taken out of the plan.",
    "gate-begun": "{stage} has begun, so who sees and answers it stays as it was when it was drawn.",
    "spread-begun": "{spread} already has a hand-in, so its pages stay as they are.",
    "bad-layout": "{sentence}",
    "second-step-stands": "The second step is on already. Turn it off first if you have a new telephone.",
    "second-step-none": "No second step was begun. Begin it on your own page.",
    "second-step-code": "That is not the code that your telephone shows now. Wait for the next one and type it at "
    "once; if none is right, the telephone's clock may be wrong.",
    "not-our-form": "This form came without the proof that a page of ours made it. Load the page and send it again.",
    "spread-elsewhere": "Those pages do not stand in the same book now. Load the page again and choose two that "
    "face each other.",
    "date-unreadable": "A date moves to a day, with a reason: fill in both, then move it.",
    "date-past": "That date is not a working day on or after today. Choose another.",
    "day-far-off": "{day} is more than {most} years away. Check the year.",
    "reason-missing": "A date moves with a reason. Write one line that both sides will read.",
    "same-date": "That is the date it already has.",
    "nothing-changed": "Nothing differs from what is there, so nothing was changed.",
    "title-missing": "A book needs a title; a working title will do.",
    "final-date-reason": "Say why the last day moves: both sides read the reason.",
    "final-date-past": "That day is past. Give one that is still to come, or leave it empty.",
    "final-date-too-soon": "The plan cannot be done by that date: work would have had to start on {start}. "
    "Choose a later date or fewer days per stage.",
    "unknown-plan": "Choose one of the ready plans.",
    "bad-email": "That is not an e-mail address. Check it and invite again.",
    "already-seated": "{email} already has that seat on this book.",
    "already-invited": "An invitation to {email} is still open. Revoke it first, or wait for the answer.",
    "invites-director-only": "You can invite the first art director, as long as the book never had one. "
    "The publisher’s side invites its own people.",
    "agent-is-theirs": "The agent speaks for the illustrator, so the illustrator or a sitting agent invites them.",
    "illustrator-is-theirs": "This book has had its illustrator, so only the illustrator or their agent can offer that "
    "seat. Ask them to. If both are gone for good, set up a new book for whoever goes on: this one stays as it is, "
    "with its ledger.",
    "seat-other-side": "That seat is the other side’s: only its own people end it. Write to them.",
    "guest-needs-passage": "A cover-meeting guest is invited to one passage. Choose it.",
    "invitation-used": "This invitation was already used. Sign in, or ask for a new one.",
    "invitation-expired": "This invitation has expired. Ask whoever sent it for a new one.",
    "invitation-unknown": "This is not a link to an invitation. Open the whole link from the mail.",
    "password-link-ended": "This link was used, or is more than a day old, or you signed in since. Ask for a new one.",
    "invitation-revoked": "This invitation was taken back. Ask whoever sent it if that is a mistake.",
    "invitation-overtaken": "Somebody holds this seat by now, or has held it, so this invitation opens none any more. "
    "Ask them for one.",
    "invitation-other-person": "This invitation went to another address. Sign out, then open the link again.",
    "email-taken": "There is already an account for this address. Sign in, then open the link again.",
    "last-art-director": "A book needs an art director. Seat another one first.",
    "seat-ended": "This seat has already ended.",
    "seat-missing": "You have no seat on this book.",
    "picture-gone": "That picture was already removed.",
    "bad-order": "The order does not name exactly the pictures of this hand-in. Load the page again.",
    "not-your-draft": "This draft belongs to another illustrator.",
    "one-sheet": "Tick two or more sheets that share a strip of the drawing, then join them.",
    "too-many-sheets": "Up to {most} sheets are joined at once. Tick fewer, and join what comes of them afterwards.",
    "ink-of-one": "The ink is taken from one scan at a time. Tick one picture.",
    "sheet-gone": "One of the pictures you ticked is not in this draft any more. Tick them again.",
    "sheet-unread": "{name} is still being read. Wait until it is ready, then ask again.",
    "sheet-refused": "{name} could not be read as a picture, so it is no use as a scan. Take it out and scan again.",
    "sheet-too-large": "{name} is {size} pixels; a sheet may have {most} a side here, which is A3 at 600 ppi. "
    "Scan it at a lower resolution.",
    "bad-making": "Choose what to do with the pictures you ticked: join the sheets, or leave only the ink.",
    "still-being-made": "This picture is still being made. Wait for it, then keep or drop it.",
    "was-not-made": "This picture could not be made, so there is nothing to keep.",
    "built-upon": "{name} was made from this picture and is kept. Drop that one first.",
    "bad-choice": "Keep the new picture or drop it.",
    "setup-done": "The first account exists already. Sign in.",
    "file-too-large": "{name} is larger than {limit}. Save a smaller copy, or ask for the limit to be raised.",
    "file-empty": "{name} is empty (0 bytes). Save it again and choose it once more.",
    "ballot-empty": "Rank at least one option, then hand in your vote.",
    "ballot-names-twice": "An option stands in your order twice. Put each in one place.",
    "ballot-names-unknown": "Your order names an option that is not on offer any more. Load the page again.",
}


def sentence_for(refused: Refused) -> str:
    """Put a refusal in words."""
    return REFUSALS[refused.code].format(**refused.values)
