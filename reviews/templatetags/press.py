"""The key of a posting form, written wherever its CSRF token is: no form can be without one."""

from __future__ import annotations

import secrets

from django import template
from django.template.defaulttags import CsrfTokenNode
from django.utils.html import format_html

register = template.Library()


class _TokenAndPress(CsrfTokenNode):
    """Django's hidden field, and one beside it that tells this form from every other."""

    def render(self, context: template.Context) -> str:
        token = super().render(context)
        if not token:
            return token
        return token + format_html('<input type="hidden" name="press" value="{}">', secrets.token_urlsafe(16))


@register.tag(name="csrf_token")
def token_and_press(parser: template.base.Parser, token: template.base.Token) -> template.Node:
    """`{% csrf_token %}` as templates know it, with the form's own key beside it."""
    return _TokenAndPress()
