from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("reviews", "0026_what_waits_now"),
    ]

    operations = [
        migrations.AlterField(
            model_name="ledgerentry",
            name="deed",
            field=models.CharField(
                choices=[
                    ("make-book", "make-book"),
                    ("change-book", "change-book"),
                    ("lay-out", "lay-out"),
                    ("change-plan", "change-plan"),
                    ("invite", "invite"),
                    ("revoke-invitation", "revoke-invitation"),
                    ("take-seat", "take-seat"),
                    ("end-seat", "end-seat"),
                    ("move-due-date", "move-due-date"),
                    ("add-picture", "add-picture"),
                    ("remove-picture", "remove-picture"),
                    ("order-pictures", "order-pictures"),
                    ("word-hand-in", "word-hand-in"),
                    ("read-picture", "read-picture"),
                    ("make-derived", "make-derived"),
                    ("derive-picture", "derive-picture"),
                    ("choose-derived", "choose-derived"),
                    ("hand-in", "hand-in"),
                    ("withdraw-hand-in", "withdraw-hand-in"),
                    ("pin-note", "pin-note"),
                    ("edit-note", "edit-note"),
                    ("withdraw-note", "withdraw-note"),
                    ("reply", "reply"),
                    ("mark-option", "mark-option"),
                    ("weigh-note", "weigh-note"),
                    ("set-answer", "set-answer"),
                    ("drop-answer", "drop-answer"),
                    ("word-letter", "word-letter"),
                    ("send-letter", "send-letter"),
                    ("agree-approval", "agree-approval"),
                    ("object-to-approval", "object-to-approval"),
                    ("answer-note", "answer-note"),
                    ("place-note", "place-note"),
                    ("change-terms", "change-terms"),
                    ("ask-consent", "ask-consent"),
                    ("give-consent", "give-consent"),
                    ("decline-consent", "decline-consent"),
                    ("withdraw-consent", "withdraw-consent"),
                    ("announce-silence", "announce-silence"),
                    ("approve-by-silence", "approve-by-silence"),
                    ("try-again", "try-again"),
                ],
                max_length=24,
            ),
        ),
    ]
