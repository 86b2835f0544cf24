"""The shape of what is posted about notes; what it means is judged by the actions."""

from __future__ import annotations

from django import forms


class NoteForm(forms.Form):
    """A mark on a picture. ``region`` may be missing when an edit leaves the mark where it is."""

    picture = forms.IntegerField(required=False)
    region = forms.JSONField(required=False)
    words = forms.CharField(required=False, max_length=4000)
    cause = forms.CharField(required=False, max_length=20)


class PlaceForm(forms.Form):
    """Where a note is on a later picture, shown by hand; or that it goes back to where it was found."""

    picture = forms.IntegerField()
    region = forms.JSONField(required=False)
    put_back = forms.BooleanField(required=False)


class ReplyForm(forms.Form):
    words = forms.CharField(required=False, max_length=4000)


class MarkForm(forms.Form):
    picture = forms.IntegerField()
    verdict = forms.CharField(max_length=20)
    why = forms.CharField(required=False, max_length=400)
