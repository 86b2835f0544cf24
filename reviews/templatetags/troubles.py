"""Why a piece of work has not been done, in words, wherever a template shows it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import template

from reviews.pages.wording.jobs import error_sentence

register = template.Library()


@register.filter
def why_hindered(error: Mapping[str, Any]) -> str:
    """Say what a job keeps of what went wrong.

    Usage: {% load troubles %}{{ trouble.error|why_hindered }}
    """
    return error_sentence(error)
