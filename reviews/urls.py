"""Every address of the portal. Each name stands in ``rules.permits.PAGES``."""

from django.urls import path

from reviews.views import (
    account,
    answers,
    books,
    desk,
    due_dates,
    feeds,
    hand_ins,
    invitations,
    letters,
    mail_choice,
    notes,
    own_page,
    passages,
    passwords,
    pictures,
    plans,
    schedule,
    seats,
    second_voice,
    sign_in,
    statement,
    terms,
)

app_name = "reviews"

urlpatterns = [
    # People
    path("sign-in/", sign_in.sign_in, name="sign-in"),
    path("sign-out/", sign_in.sign_out, name="sign-out"),
    path("forgotten-password/", passwords.forgotten_password, name="forgotten-password"),
    path("new-password/<str:secret>/", passwords.new_password, name="new-password"),
    path("first-account/", sign_in.first_account, name="first-account"),
    path("invitation/<str:secret>/", invitations.invitation, name="invitation"),
    path("you/", own_page.own_page, name="own-page"),
    path("you/name/", own_page.own_name, name="own-name"),
    path("you/password/", own_page.own_password, name="own-password"),
    path("you/mail/", mail_choice.mail_choice, name="mail-choice"),
    path("you/calendar/", feeds.new_calendar_link, name="new-calendar-link"),
    path("you/calendar/revoke/", feeds.revoke_calendar_link, name="revoke-calendar-link"),
    path("mail/<str:secret>/", mail_choice.stop_mail, name="stop-mail"),
    path("calendar/<str:secret>.ics", feeds.calendar_feed, name="calendar-feed"),
    # Desk and books
    path("", desk.desk, name="desk"),
    path("books/new/", books.new_book, name="new-book"),
    path("books/<int:book_id>/", books.book_map, name="book-map"),
    # Stages and pages
    path("books/<int:book_id>/plan/", plans.plan, name="plan"),
    path("plans/<int:plan_id>/", plans.change_plan, name="change-plan"),
    path("spreads/<int:spread_id>/split/", plans.split_spread, name="split-spread"),
    path("spreads/<int:left_id>/join/<int:right_id>/", plans.join_spreads, name="join-spreads"),
    # Seats
    path("books/<int:book_id>/seats/", seats.seats, name="seats"),
    path("books/<int:book_id>/seats/invite/", seats.invite, name="invite"),
    path("invitations/<int:invitation_id>/revoke/", seats.revoke_invitation, name="revoke-invitation"),
    path("seats/<int:seat_id>/end/", seats.end_seat, name="end-seat"),
    # Passages and the review table
    path("passages/<int:passage_id>/", passages.passage, name="passage"),
    path("passages/<int:passage_id>/changes/", passages.changes, name="changes"),
    # Hand-ins
    path("passages/<int:passage_id>/draft/", hand_ins.draft, name="draft-hand-in"),
    path("passages/<int:passage_id>/draft/pictures/", hand_ins.add_picture, name="add-picture"),
    path("pictures/<int:picture_id>/remove/", hand_ins.remove_picture, name="remove-picture"),
    path("hand-ins/<int:hand_in_id>/order/", hand_ins.order_pictures, name="order-pictures"),
    path("hand-ins/<int:hand_in_id>/words/", hand_ins.word_hand_in, name="word-hand-in"),
    path("hand-ins/<int:hand_in_id>/hand-in/", hand_ins.hand_in, name="hand-in"),
    path("hand-ins/<int:hand_in_id>/withdraw/", hand_ins.withdraw_hand_in, name="withdraw-hand-in"),
    # Notes and option marks
    path("passages/<int:passage_id>/notes/", notes.pin_note, name="pin-note"),
    path("passages/<int:passage_id>/marks/", notes.mark_option, name="mark-option"),
    path("notes/<int:note_id>/", notes.edit_note, name="edit-note"),
    path("notes/<int:note_id>/withdraw/", notes.withdraw_note, name="withdraw-note"),
    path("notes/<int:note_id>/restore/", notes.restore_note, name="restore-note"),
    path("notes/<int:note_id>/place/", notes.place_note, name="place-note"),
    path("notes/<int:note_id>/reply/", notes.reply, name="reply"),
    # Pictures
    path("pictures/<int:picture_id>/preview.jpg", pictures.preview, name="picture-preview"),
    path("pictures/<int:picture_id>/thumb.jpg", pictures.thumb, name="picture-thumb"),
    path("pictures/<int:picture_id>/tiles/<path:address>", pictures.tile, name="picture-tile"),
    path("pictures/<int:picture_id>/original", pictures.original, name="picture-original"),
    path("pictures/<int:picture_id>/state/", pictures.state, name="picture-state"),
    # Letters, answers, the second voice
    path("books/<int:book_id>/letters/", letters.all_letters, name="letters"),
    path("books/<int:book_id>/letter/", letters.draft_letter, name="draft-letter"),
    path("books/<int:book_id>/letter/words/", letters.word_letter, name="word-letter"),
    path("books/<int:book_id>/letter/approve/", answers.approve_waiting, name="approve-waiting"),
    path("passages/<int:passage_id>/answer/", answers.set_answer, name="set-answer"),
    path("passages/<int:passage_id>/answer/drop/", answers.drop_answer, name="drop-answer"),
    path("notes/<int:note_id>/weigh/", letters.weigh_note, name="weigh-note"),
    path("notes/<int:note_id>/answer/", answers.answer_note, name="answer-note"),
    path("letters/<int:letter_id>/", letters.letter, name="letter"),
    path("letters/<int:letter_id>/letter.pdf", letters.letter_paper, name="letter-paper"),
    path("letters/<int:letter_id>/send/", letters.send_letter, name="send-letter"),
    path("hand-ins/<int:hand_in_id>/agree/", second_voice.agree, name="agree"),
    path("hand-ins/<int:hand_in_id>/object/", second_voice.object_to, name="object"),
    path("passages/<int:passage_id>/due/", due_dates.move_due_date, name="move-due-date"),
    # Account and ledger
    path("books/<int:book_id>/account/", account.account, name="account"),
    path("books/<int:book_id>/ledger/", account.ledger, name="ledger"),
    # Terms and statement
    path("books/<int:book_id>/terms/", terms.terms, name="terms"),
    path("books/<int:book_id>/terms/change/", terms.change_terms, name="change-terms"),
    path("passages/<int:passage_id>/consent/ask/", terms.ask_consent, name="ask-consent"),
    path("passages/<int:passage_id>/consent/give/", terms.give_consent, name="give-consent"),
    path("passages/<int:passage_id>/consent/decline/", terms.decline_consent, name="decline-consent"),
    path("passages/<int:passage_id>/consent/withdraw/", terms.withdraw_consent, name="withdraw-consent"),
    path("books/<int:book_id>/statement/", statement.statement, name="statement"),
    path("books/<int:book_id>/statement.pdf", statement.statement_paper, name="statement-paper"),
    path("books/<int:book_id>/statement.csv", statement.statement_csv, name="statement-csv"),
    path("books/<int:book_id>/statement.json", statement.statement_data, name="statement-json"),
    # Schedule
    path("books/<int:book_id>/schedule/", schedule.schedule, name="schedule"),
]
