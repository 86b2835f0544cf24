"""A profile of a printing condition, and how a picture is to be shown by it."""

from __future__ import annotations

from django import forms

from reviews.press.soft_proof import Rendering, SoftChoice


class ProfileForm(forms.Form):
    profile = forms.FileField(label="The ICC profile")


class SoftProofForm(forms.Form):
    profile = forms.RegexField(r"\A[0-9a-f]{64}\Z")
    rendering = forms.ChoiceField(choices=[(one.value, one.value) for one in Rendering])
    black_point = forms.BooleanField(required=False)
    paper = forms.BooleanField(required=False)

    def as_choice(self) -> SoftChoice:
        """Give the checked answers in the form the action takes."""
        data = self.cleaned_data
        return SoftChoice(
            profile_sha256=data["profile"],
            rendering=Rendering(data["rendering"]),
            has_black_point=data["black_point"],
            shows_paper=data["paper"],
        )
