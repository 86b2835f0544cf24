"""What stands once in the terms: whose days count, what counts as a round, what follows from being late or silent."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.text import capfirst

from reviews.forms.terms.fields import YES_NO, date_field
from reviews.forms.where import PlaceField, ZoneField
from reviews.pages.wording.names import WHEN_OVER_WORDS, stage_in_a_sentence
from reviews.rules.states import StageKind

_YES_OR_NO = ("counts_receipt", "fixed_runs_on", "brief_counts", "publisher_late_moves", "redo_from_letter")


def _new_work() -> list[tuple[str, str]]:
    after = "At every stage, once {stage} is approved"
    each = [(kind.value, after.format(stage=stage_in_a_sentence(kind))) for kind in StageKind]
    return [("", "Where the stage itself was approved"), *each]


class RulesForm(forms.Form):
    """Everything but money that stands once in the terms."""

    from_on = date_field("Holds from")
    reaches_back = forms.BooleanField(
        label="It is to hold from that day even if the other side agrees later, if that side says so too",
        required=False,
    )
    place = PlaceField("Where the illustrator works", help_text="Its public holidays are kept. Begin to type a name.")
    other_place = PlaceField("Where the publisher works", help_text="Empty: Monday to Friday, no holidays kept.")
    printer_place = PlaceField(
        "Where the printer works", help_text="The book’s last day is one that is worked there. Empty: not said."
    )
    own_places = forms.ChoiceField(
        label="Which days count where the two places differ",
        choices=(
            ("yes", "Each side’s days are those worked in its own place"),
            ("no", "A day counts only if it is worked in both places"),
        ),
    )
    zone = ZoneField("Time zone in which a day ends")
    shut = forms.CharField(
        label="Other closed days",
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Year, month and day, as 2026-12-24; one after the other.",
    )
    cut_off = forms.TimeField(
        label="Hour after which a thing counts as received later",
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )
    late_receipt = forms.ChoiceField(
        label="What comes in after that hour or on a closed day",
        choices=(("as-is", "Counts from its own day"), ("next-working-day", "Counts from the next working day")),
    )
    counts_receipt = forms.ChoiceField(label="Does the day of receipt count as the first day?", choices=YES_NO)
    fixed_runs_on = forms.ChoiceField(
        label="A fixed date that falls on a closed day",
        choices=(("yes", "Runs to the next working day"), ("no", "Stays as it is")),
        help_text="The days that count are those of whoever hands in, or answers.",
    )
    brief_counts = forms.ChoiceField(
        label="Does a letter that only says “the brief was not met” use a round?", choices=YES_NO
    )
    new_work_after = forms.ChoiceField(
        label="From when on is a new direction, or a changed text, outside the fee?",
        required=False,
        help_text="A question uses no round, whenever it is asked.",
        choices=_new_work,
    )
    publisher_late_moves = forms.ChoiceField(
        label="Does each day the publisher is late move the illustrator’s dates by a day?", choices=YES_NO
    )
    redo_from_letter = forms.ChoiceField(
        label="Is a changed version due by its own days alone, even long before the day planned for the stage?",
        choices=YES_NO,
        help_text="No: it is due by the later of its own days and the day it had before the letter.",
    )
    silence_approves_after = forms.IntegerField(
        label="Working days of silence that count as approval",
        required=False,
        min_value=0,
        max_value=400,
        help_text="Empty: silence never approves. Otherwise the portal warns the art director three working days "
        "before, and on the morning after the day it approves: that opens what comes next and makes instalments fall "
        "due. Of several options it approves none; an editor’s objection that no letter carries does not stop it. "
        "The signed contract decides whether silence may do this.",
    )
    hand_in_grace = forms.IntegerField(
        label="Working days of grace for a hand-in",
        required=False,
        min_value=0,
        max_value=400,
        help_text="Only the days beyond them are counted as late. Empty: none.",
    )
    answer_grace = forms.IntegerField(
        label="Working days of grace for an answer",
        required=False,
        min_value=0,
        max_value=400,
        help_text="Only the days beyond them are counted as late, and move dates. Empty: none.",
    )
    moves_at_most = forms.IntegerField(
        label="How often may a date be moved later?",
        required=False,
        min_value=0,
        max_value=400,
        help_text="Each date of each spread by itself. Empty: as often as both sides agree.",
    )
    when_over = forms.ChoiceField(
        label="A letter that asks for extra rounds",
        choices=[(when.value, capfirst(words)) for when, words in WHEN_OVER_WORDS.items()],
    )
    house_remark = forms.CharField(
        label="Remark that only the publisher’s side sees",
        required=False,
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="An order number or a budget line. The illustrator and the agent never see it.",
    )

    def text(self) -> dict[str, Any]:
        """Write what was given as the text of terms."""
        given = self.cleaned_data
        return {
            "version": 1,
            "from_on": given["from_on"].isoformat(),
            **_places(given),
            "printer_place": given["printer_place"],
            "shut": given["shut"].replace(",", " ").split(),
            "zone": given["zone"],
            "cut_off": given["cut_off"].isoformat("minutes") if given["cut_off"] else None,
            "late_receipt": given["late_receipt"],
            **{name: given[name] == "yes" for name in _YES_OR_NO},
            "new_work_after": given["new_work_after"],
            "silence_approves_after": given["silence_approves_after"],
            **{name: given[name] or 0 for name in ("hand_in_grace", "answer_grace")},
            "moves_at_most": given["moves_at_most"],
            "when_over": given["when_over"],
        }


def _places(given: Mapping[str, Any]) -> dict[str, Any]:
    """Write whose holidays are kept: the illustrator's place first; one place where both have the same or none."""
    pair = [given["place"], given["other_place"]]
    is_own = given["own_places"] == "yes" and pair[0] != pair[1]
    return {"places": pair if is_own else list(dict.fromkeys(filter(None, pair))), "own_places": is_own}


def rules_initial(text: Mapping[str, Any]) -> dict[str, Any]:
    """Fill the form from the text of terms."""
    # One place is kept by both sides.
    places = text["places"] if len(text["places"]) > 1 else [*(text["places"] or [""])] * 2
    return {
        **text,
        **{name: "yes" if text.get(name) else "no" for name in _YES_OR_NO},
        **{name: text[name] or None for name in ("hand_in_grace", "answer_grace")},
        "own_places": "yes" if text["own_places"] else "no",
        "shut": " ".join(text["shut"]),
        "place": places[0],
        "other_place": places[1],
    }
