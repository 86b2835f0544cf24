import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("reviews", "0048_pages_and_turns"),
    ]

    operations = [
        migrations.AddField(
            model_name="seat",
            name="answers_dates",
            field=models.BooleanField(default=False),
        ),
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
                    ("propose", "propose"),
                    ("decline-proposal", "decline-proposal"),
                    ("withdraw-proposal", "withdraw-proposal"),
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
                    ("restore-note", "restore-note"),
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
                    ("change-brief", "change-brief"),
                    ("add-references", "add-references"),
                    ("remove-reference", "remove-reference"),
                    ("read-reference", "read-reference"),
                    ("take-back-letter", "take-back-letter"),
                    ("invoice", "invoice"),
                    ("withdraw-invoice", "withdraw-invoice"),
                    ("say-paid", "say-paid"),
                    ("confirm-payment", "confirm-payment"),
                    ("tell-hours", "tell-hours"),
                    ("agree-hours", "agree-hours"),
                    ("try-again", "try-again"),
                    ("hold-rows", "hold-rows"),
                ],
                max_length=24,
            ),
        ),
        migrations.CreateModel(
            name="Proposal",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField()),
                (
                    "matter",
                    models.CharField(choices=[("date", "date"), ("terms", "terms"), ("pause", "pause")], max_length=8),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("open", "open"),
                            ("accepted", "accepted"),
                            ("declined", "declined"),
                            ("answered", "answered"),
                            ("withdrawn", "withdrawn"),
                            ("replaced", "replaced"),
                            ("overtaken", "overtaken"),
                        ],
                        default="open",
                        max_length=10,
                    ),
                ),
                (
                    "which",
                    models.CharField(blank=True, choices=[("hand-in", "hand-in"), ("answer", "answer")], max_length=8),
                ),
                ("from_on", models.DateField()),
                ("to_on", models.DateField(blank=True, null=True)),
                ("cause", models.CharField(blank=True, max_length=16)),
                ("terms", models.JSONField(blank=True, null=True)),
                ("reason", models.TextField(blank=True)),
                ("house_remark", models.TextField(blank=True)),
                ("forgives", models.BooleanField(default=False)),
                ("holds_back", models.BooleanField(default=False)),
                ("at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                ("ended_words", models.TextField(blank=True)),
                (
                    "answers",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="answered_with",
                        to="reviews.proposal",
                    ),
                ),
                (
                    "book",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="proposals", to="reviews.book"
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="reviews.seat"),
                ),
                (
                    "ended_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="reviews.seat",
                    ),
                ),
                (
                    "hand_in",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="reviews.handin",
                    ),
                ),
                (
                    "passage",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="proposals",
                        to="reviews.passage",
                    ),
                ),
            ],
            options={
                "ordering": ["book", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=("book", "number"), name="proposal_once"),
                    models.UniqueConstraint(
                        condition=models.Q(("matter", "date"), ("state", "open")),
                        fields=("passage", "which"),
                        name="one_open_date",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("state", "open"), models.Q(("matter", "date"), _negated=True)),
                        fields=("book", "matter"),
                        name="one_open_matter",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("ended_at", None), ("ended_by", None), ("state", "open")),
                            models.Q(
                                models.Q(("state", "open"), _negated=True),
                                ("ended_at__isnull", False),
                                ("ended_by__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="proposal_ended_by_somebody",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("matter", "date"), ("passage__isnull", False), ("to_on__isnull", False)),
                            models.Q(("matter", "terms"), ("passage", None), ("terms__isnull", False)),
                            models.Q(("matter", "pause"), ("passage", None), ("to_on__isnull", False)),
                            _connector="OR",
                        ),
                        name="proposal_has_its_object",
                    ),
                ],
            },
        ),
    ]
