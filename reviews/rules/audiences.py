"""Who is told of each deed."""

from __future__ import annotations

from reviews.rules.states import Deed, Role

# Who is told of a deed, beside the person who did it; an empty set is "nobody is written to".
AUDIENCES: dict[Deed, frozenset[Role]] = {
    Deed.MAKE_BOOK: frozenset(),
    Deed.CHANGE_BOOK: frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR}),
    Deed.LAY_OUT: frozenset(),
    # Whoever works on the pages, on either side: the numbers they talk about change.
    Deed.MOVE_SPREADS: frozenset(
        {Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION, Role.DESIGNER}
    ),
    Deed.REPAGE: frozenset(
        {Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION, Role.DESIGNER}
    ),
    # Who draws to the size, and who has it printed.
    Deed.SET_PRINT: frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.PRODUCTION}),
    Deed.TAKE_ON_FAULT: frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.PRODUCTION}),
    Deed.BRING_PROFILE: frozenset(),  # it stands in the print set-up; nothing of the book changes by it
    Deed.TELL_PLATE: frozenset(),  # it stands beside the plate; whoever hands in is told by handing in
    Deed.JUDGE_PROOF: frozenset({Role.ART_DIRECTOR, Role.PRODUCTION}),
    Deed.CHANGE_PLAN: frozenset({Role.ILLUSTRATOR, Role.AGENT}),
    Deed.NAME_STAGES: frozenset({Role.ILLUSTRATOR, Role.AGENT}),
    Deed.INVITE: frozenset(),  # the invitation itself is written to the address, not to a seat
    Deed.REVOKE_INVITATION: frozenset(),
    Deed.TAKE_SEAT: frozenset({Role.ART_DIRECTOR}),
    Deed.END_SEAT: frozenset(),
    Deed.ASK_TO_READ: frozenset(),  # and whoever is asked, by name (the action)
    Deed.STOP_ASKING: frozenset(),
    Deed.LET_AGENT_ANSWER: frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT}),
    Deed.MOVE_DUE_DATE: frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT}),
    Deed.AGREE_PAUSE: frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT, Role.EDITOR, Role.PRODUCTION}),
    Deed.PROPOSE: frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT}),
    Deed.DECLINE_PROPOSAL: frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT}),
    Deed.WITHDRAW_PROPOSAL: frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT}),
    Deed.ADD_PICTURE: frozenset(),
    Deed.REMOVE_PICTURE: frozenset(),
    Deed.ORDER_PICTURES: frozenset(),
    Deed.WORD_HAND_IN: frozenset(),
    Deed.READ_PICTURE: frozenset(),
    Deed.MAKE_DERIVED: frozenset(),
    Deed.DERIVE_PICTURE: frozenset(),
    Deed.CHOOSE_DERIVED: frozenset(),
    Deed.HAND_IN: frozenset({Role.ART_DIRECTOR, Role.EDITOR, Role.DESIGNER}),
    Deed.WITHDRAW_HAND_IN: frozenset({Role.ART_DIRECTOR, Role.EDITOR, Role.DESIGNER}),
    Deed.PIN_NOTE: frozenset(),
    Deed.EDIT_NOTE: frozenset(),
    Deed.WITHDRAW_NOTE: frozenset(),
    Deed.RESTORE_NOTE: frozenset(),
    Deed.LOOK_OVER: frozenset(),
    Deed.REPLY: frozenset(),
    Deed.MARK_OPTION: frozenset(),
    Deed.UNMARK_OPTION: frozenset(),
    Deed.OPEN_VOTE: frozenset(),  # whoever may vote, by name (the action)
    Deed.CAST_BALLOT: frozenset(),  # how many have voted stands on its page; who is told of each would watch the others
    Deed.CLOSE_VOTE: frozenset({Role.ART_DIRECTOR, Role.EDITOR}),
    Deed.DECIDE_VOTE: frozenset({Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION, Role.DESIGNER}),
    Deed.WEIGH_NOTE: frozenset(),
    Deed.SET_ANSWER: frozenset(),
    Deed.DROP_ANSWER: frozenset(),
    Deed.WORD_LETTER: frozenset(),
    Deed.SEND_LETTER: frozenset({Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION}),
    Deed.AGREE: frozenset({Role.ART_DIRECTOR}),  # and the illustrator, once it completes an approval
    Deed.OBJECT: frozenset({Role.ART_DIRECTOR}),
    Deed.ANSWER_NOTE: frozenset(),  # the next hand-in tells
    Deed.PLACE_NOTE: frozenset(),
    Deed.CONFIRM_TERMS: frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR}),
    Deed.CHANGE_TERMS: frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR}),
    Deed.ASK_CONSENT: frozenset({Role.AGENT}),  # or the illustrator, where no agent sits
    Deed.GIVE_CONSENT: frozenset({Role.ART_DIRECTOR}),
    Deed.DECLINE_CONSENT: frozenset({Role.ART_DIRECTOR}),
    Deed.WITHDRAW_CONSENT: frozenset({Role.ART_DIRECTOR}),
    Deed.TAKE_BACK_LETTER: frozenset({Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION}),
    Deed.INVOICE: frozenset({Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT}),
    Deed.WITHDRAW_INVOICE: frozenset({Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT}),
    Deed.SAY_PAID: frozenset({Role.ILLUSTRATOR, Role.AGENT}),
    Deed.CONFIRM_PAYMENT: frozenset({Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT}),
    Deed.WITHDRAW_PAYMENT: frozenset({Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT}),
    Deed.TELL_HOURS: frozenset({Role.ART_DIRECTOR}),
    Deed.AGREE_HOURS: frozenset({Role.ILLUSTRATOR, Role.AGENT}),
    Deed.ANNOUNCE_SILENCE: frozenset({Role.ART_DIRECTOR, Role.EDITOR}),
    # What is asked changed, so whoever draws it and whoever watches the contract hears of it before they go on.
    Deed.CHANGE_BRIEF: frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR, Role.EDITOR}),
    # Who draws round it and who sets it; the agent too where it came after an approved sketch (the action).
    Deed.SET_TEXT: frozenset({Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.EDITOR, Role.DESIGNER}),
    Deed.ADD_REFERENCES: frozenset({Role.ILLUSTRATOR}),
    Deed.REMOVE_REFERENCE: frozenset({Role.ILLUSTRATOR}),
    Deed.READ_REFERENCE: frozenset(),
    Deed.HOLD_ROWS: frozenset(),
    # It ends the days of one side, and another hands in from now on.
    Deed.GIVE_TO_PRINTER: frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR, Role.PRODUCTION}),
    Deed.TRY_AGAIN: frozenset(),
    # Nobody has done it, so everybody is told.
    Deed.APPROVE_BY_SILENCE: frozenset({Role.ILLUSTRATOR, Role.AGENT, Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION}),
}
