"""How far the demo book has come: five months of hand-ins, notes and letters, told in order.

Days are working days before today, so that the demo is always mid-way: some spreads at ideas, some waiting
for an answer (one of them late), some approved to colour, the cover at its special finish, one spread over
its rounds, one text change after approval.
"""

from __future__ import annotations

from reviews.demo.asides import advisers_sit_down, asked, drop_agreed, drop_proposed, swapped
from reviews.demo.briefs import BOOK_BRIEF, BRIEFS, LONGER_HILL
from reviews.demo.control_strip import strip_measured
from reviews.demo.draw import Commission
from reviews.demo.people import AMENDMENT, AMENDMENT_PROPOSED, REMARK
from reviews.demo.placed_text import text_placed
from reviews.demo.redraws import DemoNote
from reviews.demo.scenes import notes_for, notes_on
from reviews.demo.teller import Teller
from reviews.demo.voting import balloted, decided, opened
from reviews.rules.states import Role

FIRST = ("4-5", "6-7", "8-9", "10-11", "12-13")
SECOND = ("14-15", "16-17", "18-19")
ENDS = ("2-3", "30-31")
CHOSEN = {"cover": 3, "4-5": 1, "6-7": 2, "8-9": 1, "10-11": 1, "12-13": 2}
# A rough that was handed in as the only idea is drawn like the sketch that followed it.
SINGLE_IDEAS = (*SECOND, *ENDS)


def extra_commissions() -> list[Commission]:
    """Files that the story needs beside the ones the drawings name."""
    return [
        Commission(piece, "ink", 1, 0, f"tansy_p{int(piece.split('-')[0]):02d}_ink scan.jpg")
        for piece in ("4-5", "6-7", "8-9")
    ]


def tell(teller: Teller) -> None:
    """Tell everything, from setting the book up to this morning."""
    for chapter in (
        _beginnings,
        _ideas,
        _sketches,
        _pages,
        _rounds,
        _lines,
        _colours,
        _text_change,
        _this_week,
        _dropped,
        _letter_begun,
        _proposed,
    ):
        chapter(teller)
    teller.play()


def _beginnings(tell: Teller) -> None:
    tell.on(104).set_up()
    tell.on(103).enter_terms(remark=REMARK)
    tell.on(102).brief(None, BOOK_BRIEF)
    for piece, parts in BRIEFS.items():
        tell.brief(piece, parts)
    apart = "So that the second half's ideas do not come all at once; agreed by telephone."
    for piece, to in (("20-21", 3), ("22-23", 1), ("24-25", -4), ("26-27", -9), ("28-29", -12)):
        tell.on(101).move(piece, "ideas", to=to, reason=apart)
    tell.on(100).set_print()
    tell.on(100).invoice("R-1041", "On signature", "2400.00")
    tell.on(80).paid("R-1041")
    tell.on(78).received("R-1041")
    tell.on(72).invoice("R-1057", "On delivery of half the ideas", "2400.00")
    # A part of it came, late; the rest is overdue.
    tell.on(44).paid("R-1057", "1400.00")
    tell.on(41).received("R-1057", "1400.00")


def _ideas(tell: Teller) -> None:
    tell.on(91).hand_in(
        "cover", "ideas", options=range(1, 7), words="Six ways in. Number three is the one I would love to draw."
    )
    for piece in FIRST:
        tell.hand_in(piece, "ideas", options=range(1, 4))
    for piece in SINGLE_IDEAS:
        tell.on(90).hand_in(piece, "ideas", file_stage="sketch", words="One rough only: this one came out at once.")
    _cover_meeting(tell)
    tell.word(
        "What a generous first parcel. These are the ideas to go on with; the cover meeting chose with one voice."
    )
    tell.answers("ideas", dict.fromkeys(("cover", *FIRST), "approve"), choose=CHOSEN)
    tell.answers("ideas", dict.fromkeys(SINGLE_IDEAS, "approve"))
    tell.send()
    tell.on(86).thank_guest()
    tell.on(75).do(text_placed())


def _cover_meeting(tell: Teller) -> None:
    tell.on(88).seat_guest("cover", "ideas")
    tell.mark(
        "cover", Role.GUEST, {3: ("this", "I can see it across a shop."), 5: ("not_this", "Too quiet on a table.")}
    )
    tell.mark(
        "cover",
        Role.EDITOR,
        {3: ("this", "Her face and the moon in one look."), 1: ("not_this", "Gives the ending away.")},
    )
    tell.mark(
        "cover",
        Role.PRODUCTION,
        {3: ("this", "A moon that size takes foil well."), 6: ("not_this", "Lines too fine for foil.")},
    )
    tell.do(opened("cover", "The one that a child picks up from a table.", decider=Role.ART_DIRECTOR))
    tell.do(
        balloted(
            "cover",
            {
                Role.GUEST: [[3], [1, 2], [6]],
                Role.EDITOR: [[3], [2], [4]],
                Role.PRODUCTION: [[2], [3], [4]],
                Role.ART_DIRECTOR: [[3], [4], [2]],
            },
        )
    )
    tell.on(87).do(decided("cover", 3, "Her face and the moon are read in one look, and the moon takes foil."))


def _sketches(tell: Teller) -> None:
    tell.on(71)
    for piece in ("cover", *FIRST):
        tell.hand_in(piece, "sketch", 1, words="Orange pencil throughout; nothing is too precious to move.")
    tell.on(67)
    for piece in ("cover", *FIRST):
        tell.pin(piece, "sketch", notes_for(piece, "sketch", 2))
    tell.on(66).do(advisers_sit_down)
    tell.do(asked(Role.READER, ("6-7",), "You keep dormice: does one sit up like this, out in the cold?"))
    tell.on(65).pin("6-7", "sketch", [TAIL])
    tell.reword(
        "6-7", "sketch", Role.READER, "Our dormouse keeper says the tail is as bushy as a squirrel’s: fluff it out."
    )
    tell.on(64).word(
        "We laid them all along the corridor. The light is right, the night is right. Below is what we would move."
    )
    tell.answers("sketch", dict.fromkeys(("cover", *FIRST), "ask"))
    tell.send()
    tell.on(51)
    for piece in ("cover", *FIRST):
        tell.answer_notes(piece, "sketch")
        tell.hand_in(piece, "sketch", 2)
    for piece in ("cover", "4-5", "6-7", "8-9", "12-13"):
        tell.on(47).agree(piece, "sketch")
    tell.pin("10-11", "sketch", notes_for("10-11", "sketch", 3))
    tell.on(45).word("Five of six are there. Only the hill still asks for something.")
    tell.answers("sketch", dict.fromkeys(("cover", "4-5", "6-7", "8-9", "12-13"), "approve"))
    tell.answers("sketch", {"10-11": "ask"})
    tell.send()
    sooner = "Brought forward to follow the first five sketches; both sides agreed."
    for piece, to in (("14-15", 14), ("16-17", 25), ("18-19", 3), ("2-3", 7), ("30-31", 7)):
        tell.on(44).move(piece, "sketch", to=to, reason=sooner)


def _pages(tell: Teller) -> None:
    """Two spreads nobody has drawn yet change places, because the rhyme did."""
    tell.on(43).do(swapped("26-27", "28-29", "In the new rhyme Pocket comes home before the lamp goes out."))


def _rounds(tell: Teller) -> None:
    """The hill spread uses up its two rounds and goes into a third."""
    tell.on(44).brief("10-11", LONGER_HILL)
    tell.on(36).answer_notes("10-11", "sketch")
    tell.hand_in("10-11", "sketch", 3)
    tell.on(33).pin("10-11", "sketch", notes_for("10-11", "sketch", 4))
    tell.on(31).word("I know this is the third time we ask about the hill. We will put it right with Desmond.")
    tell.answers("sketch", {"10-11": "ask"})
    tell.send()


def _lines(tell: Teller) -> None:
    tell.on(38).hand_in("cover", "line")
    for piece in ("4-5", "6-7", "8-9", "12-13"):
        tell.on(37).hand_in(piece, "line")
    tell.on(34).word("Lines approved. They have kept all of the pencil's breath.")
    tell.answers("line", dict.fromkeys(("4-5", "6-7", "8-9", "12-13"), "approve"))
    tell.send()
    for piece in ("4-5", "6-7", "8-9"):
        tell.on(30).hand_in(piece, "ink")
    tell.on(29).hand_in("12-13", "ink", words="Scanned at 300 ppi, nothing cleaned yet.")
    tell.on(28).move("12-13", "colour", to=4, reason="Wanted on the wall for the sales meeting; both sides agreed.")


def _colours(tell: Teller) -> None:
    tell.on(27).hand_in("cover", "colour", words="With layers, in case the designer wants to move the lettering.")
    tell.on(24).word("The cover is what we hoped for. Please go on to the foil.")
    tell.answers("colour", {"cover": "approve"})
    tell.send()
    for piece in ("4-5", "6-7", "8-9"):
        tell.on(14).hand_in(piece, "colour")
    thanks = DemoNote(
        "point",
        ((0.5, 0.12),),
        "Could the sky be one breath lighter here for the type? Only if it is no trouble.",
        "direction",
    )
    tell.on(10).pin("8-9", "colour", [thanks])
    tell.on(9).word("Three finished spreads on the wall. Production stopped their meeting to look.")
    tell.answers("colour", {"4-5": "approve", "6-7": "approve", "8-9": "approve_small"})
    tell.send()


def _text_change(tell: Teller) -> None:
    """A sketch that was approved is asked to change, because the rhyme did: outside the fee."""
    tell.on(28).enter_terms(AMENDMENT, remark=REMARK)
    tell.on(26).hand_in("16-17", "sketch", 1)
    tell.on(22).agree("16-17", "sketch")
    tell.on(21).word("The crossroads are approved, by both of us.")
    tell.answers("sketch", {"16-17": "approve"})
    tell.send()
    tell.on(13).pin("16-17", "sketch", [n for n in notes_for("16-17", "sketch", 2) if n.cause == "text_change"])
    tell.on(12).word("The author changed the rhyme, so we must ask for something in a sketch we had approved. Sorry.")
    tell.answers("sketch", {"16-17": "ask"})
    tell.send()
    tell.on(7).answer_notes("16-17", "sketch")
    tell.hand_in("16-17", "sketch", 2, words="New board, and Pocket makes room for it.")
    tell.on(3).word("The new board is good. Petra still reads it against the text.")
    tell.answers("sketch", {"16-17": "approve"})
    tell.send()


def _this_week(tell: Teller) -> None:
    """What waits today: one answer late, others in time."""
    tell.on(15).hand_in("14-15", "sketch", 1)
    for piece in ENDS:
        tell.on(8).hand_in(piece, "sketch", 1)
    tell.on(6).answer_notes(
        "10-11", "sketch", {1: ("not_done", "I tried it; her shadow then falls across the pail and hides the moon.")}
    )
    tell.hand_in("10-11", "sketch", 4, words="Fourth time up this hill. I think she has arrived.")
    tell.on(5).hand_in(
        "cover", "finish", words="Foil plate: moon, stars and title, 100 % black, same size as the colour."
    )
    tell.tell_plate("cover")
    tell.on(4).hand_in("20-21", "ideas", options=range(1, 6), words="Five, from safe to less safe.")
    tell.on(4).hand_in("18-19", "sketch", 1)
    # The meeting comes together again over the spread that the catalogue will show beside the cover.
    tell.on(3).seat_guest("20-21", "ideas")
    tell.hand_in("22-23", "ideas", options=range(1, 5))
    tell.on(2).hand_in("6-7", "proof", words="The printer's first proof, scanned.")
    tell.do(strip_measured("6-7"))
    tell.on(1).draft("24-25", "ideas", options=range(1, 6))
    tell.mark(
        "20-21", Role.EDITOR, {2: ("this", "The text breathes here."), 4: ("not_this", "We had this view on 8–9.")}
    )
    tell.mark("20-21", Role.PRODUCTION, {2: ("this", "Nothing important in the fold.")})
    tell.do(opened("20-21", "It goes into the catalogue beside the cover.", decider=Role.EDITOR, last_day=-4))
    tell.do(balloted("20-21", {Role.PRODUCTION: [[2], [1, 5]]}))


def _dropped(tell: Teller) -> None:
    """One spread goes by both sides' word; its ideas, their marks and a note are kept."""
    tell.on(3).mark("22-23", Role.EDITOR, {2: ("this", "Somebody awake in every room: I could look at it all night.")})
    tell.on(2).pin("22-23", "ideas", [AWAKE])
    twice = "The moths have woken everybody already. These two pages stay dark, with the text alone."
    tell.do(drop_proposed("22-23", twice))
    tell.on(1).do(drop_agreed)


AWAKE = DemoNote(
    "point", ((0.5, 0.5),), "We were awake with all of them one page before; do we need to be told twice?", "question",
    "editor",
)  # fmt: skip
WHOLE_NOTES = (
    DemoNote("spread", (), "Darker all over, please: this is the darkest spread of the night.", "new_direction"),
    DemoNote(
        "book",
        (),
        "The scarf is the same mustard throughout; here and there it leans to orange.",
        "new_direction",
        "editor",
    ),
)
CAP = DemoNote("point", ((0.6, 0.46),), "His cap is wonderful; please do not change a single stitch of it.", "praise")
GREY_MOON = DemoNote(
    "box", ((0.60, 0.08), (0.78, 0.34)),
    "The moon is greyer here than on our calibrated print, and the paper shows through. Back to the printer.",
    "printer", "production",
)  # fmt: skip


TAIL = DemoNote(
    "point", ((0.42, 0.62),),
    "A hazel dormouse has a furred tail, quite bushy to the tip. This one is a house mouse’s.",
    "new_direction", "reader",
)  # fmt: skip
NOT_YET = DemoNote(
    "point", ((0.3, 0.4),), "She has not read the board yet on this page; let her look away from it.", "text_change",
    "author",
)  # fmt: skip


def _letter_begun(tell: Teller) -> None:
    """Notes nobody outside the house has seen, and a letter that the art director has begun."""
    for piece in ("10-11", "14-15", "18-19"):
        version = {"10-11": 4}.get(piece, 1)
        tell.on(1).pin(piece, "sketch", notes_on(piece, "sketch", version))
    fold = DemoNote(
        "box", ((0.48, 0.36), (0.66, 0.92)),
        "The pail must stay 13 mm clear of the fold, or half of it is lost in the binding.",
        "brief: Nothing that matters", "production",
    )  # fmt: skip
    tell.on(1).pin("14-15", "sketch", [fold])
    tell.pin("14-15", "sketch", WHOLE_NOTES)
    tell.on(1).pin("18-19", "sketch", [CAP])
    tell.pin("6-7", "proof", [GREY_MOON])
    tell.on(2).do(asked(Role.AUTHOR, ("18-19", "14-15"), "Does the order of things still fit the new rhyme?"))
    tell.do(asked(Role.READER, ("18-19",), "Is this how a dormouse sleeps?"))
    tell.on(1).pin("18-19", "sketch", [NOT_YET])
    tell.on(1).object("16-17", "sketch", "HOME still points away from where she walks. Children will follow the board.")
    tell.on(0).word("The ferns are lovely and dark. Two things about the pail, then this one is ready.")
    tell.answers("sketch", {"14-15": "ask", "10-11": "approve_small"})
    tell.reword(
        "14-15",
        "sketch",
        Role.EDITOR,
        "One more line of text has to stand here. Could the ferns open a little to make room for it?",
    )


def _proposed(tell: Teller) -> None:
    """What waits for the other side's word today: a later date, and an amendment that the agent is to read; and a pause
    that both agreed on."""
    tell.on(1).pause(-16, -18, "The book fair: nobody of the publisher is at a desk.")
    late = "The reference for the pail came a week late."
    tell.on(1).move("12-13", "colour", to=-14, reason=late, agreed=False)
    tell.on(0).enter_terms(AMENDMENT_PROPOSED, n_seen=2, waits=True)
