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
    "too-many-pictures": "A hand-in holds up to 20 pictures. Remove one before you add another.",
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
    "date-unreadable": "A date moves to a day, with a reason: fill in both, then move it.",
    "date-past": "That date is not a working day on or after today. Choose another.",
    "reason-missing": "A date moves with a reason. Write one line that both sides will read.",
    "same-date": "That is the date it already has.",
    "final-date-too-soon": "The plan cannot be done by that date: work would have had to start on {start}. "
    "Choose a later date or fewer days per stage.",
    "unknown-plan": "Choose one of the ready plans.",
    "bad-email": "That is not an e-mail address. Check it and invite again.",
    "already-seated": "{email} already has that seat on this book.",
    "already-invited": "An invitation to {email} is still open. Revoke it first, or wait for the answer.",
    "invites-director-only": "You can invite the art director as long as the book has none. "
    "The art director invites everybody else.",
    "guest-needs-passage": "A cover-meeting guest is invited to one passage. Choose it.",
    "invitation-used": "This invitation was already used. Sign in, or ask for a new one.",
    "invitation-expired": "This invitation has expired. Ask the art director for a new one.",
    "invitation-unknown": "This is not a link to an invitation. Open the whole link from the mail.",
    "invitation-revoked": "This invitation was taken back. Ask the art director if that is a mistake.",
    "invitation-overtaken": "This book has an art director by now, so this invitation opens no seat any more. "
    "Ask the art director for one.",
    "invitation-other-person": "This invitation went to another address. Sign out, then open the link again.",
    "email-taken": "There is already an account for this address. Sign in, then open the link again.",
    "last-art-director": "A book needs an art director. Seat another one first.",
    "seat-ended": "This seat has already ended.",
    "seat-missing": "You have no seat on this book.",
    "picture-gone": "That picture was already removed.",
    "bad-order": "The order does not name exactly the pictures of this hand-in. Load the page again.",
    "not-your-draft": "This draft belongs to another illustrator.",
    "setup-done": "The first account exists already. Sign in.",
    "file-too-large": "{name} is larger than {limit}. Save a smaller copy, or ask for the limit to be raised.",
    "file-empty": "{name} is empty (0 bytes). Save it again and choose it once more.",
}


def sentence_for(refused: Refused) -> str:
    """Put a refusal in words."""
    return REFUSALS[refused.code].format(**refused.values)
