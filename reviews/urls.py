"""Every address of the portal. Each name stands in ``rules.permits.PAGES``."""

from django.urls import path

from reviews.views import hand_ins, notes, passages, pictures

app_name = "reviews"

urlpatterns = [
    # Passages and the review table
    path("passages/<int:passage_id>/", passages.passage, name="passage"),
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
    path("notes/<int:note_id>/reply/", notes.reply, name="reply"),
    # Pictures
    path("pictures/<int:picture_id>/preview.jpg", pictures.preview, name="picture-preview"),
    path("pictures/<int:picture_id>/thumb.jpg", pictures.thumb, name="picture-thumb"),
    path("pictures/<int:picture_id>/tiles/<path:address>", pictures.tile, name="picture-tile"),
    path("pictures/<int:picture_id>/original", pictures.original, name="picture-original"),
    path("pictures/<int:picture_id>/state/", pictures.state, name="picture-state"),
]
