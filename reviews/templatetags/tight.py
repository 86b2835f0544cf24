"""A long line of a template written on several, without the white space that would show between inline things.

Loaded for every template by the settings, so no page needs to load it.
"""

from __future__ import annotations

import re

from django import template
from django.template.base import NodeList, Parser, Token, TokenType

register = template.Library()

_BREAK = re.compile(r"\s*\n\s*")


@register.tag
def tight(parser: Parser, token: Token) -> template.Node:
    """Take the line breaks out of all that stands up to `{% endtight %}`, when the template is compiled.

    A break next to a tag, HTML's or Django's, leaves nothing; between words or values it leaves one space.
    """
    inside = _until_end(parser, token)
    for before, one, after in zip([None, *inside], inside, [*inside[1:], None], strict=False):
        if one.token_type == TokenType.TEXT:
            one.contents = _closed_up(one.contents, after_value=_is_value(before), before_value=_is_value(after))
    parser.prepend_token(Token(TokenType.BLOCK, "endtight", token.position, token.lineno))
    for one in reversed(inside):
        parser.prepend_token(one)
    nodes = parser.parse(("endtight",))
    parser.delete_first_token()
    return _Tight(nodes)


class _Tight(template.Node):
    """Nothing is left to do when the page is rendered."""

    def __init__(self, nodelist: NodeList) -> None:
        self.nodelist = nodelist

    def render(self, context: template.Context) -> str:
        return self.nodelist.render(context)


def _until_end(parser: Parser, token: Token) -> list[Token]:
    inside: list[Token] = []
    parser.command_stack.append((token.contents, token))
    while parser.tokens:
        one = parser.next_token()
        if one.token_type == TokenType.BLOCK and one.contents == "endtight":
            parser.command_stack.pop()
            return inside
        inside.append(one)
    return parser.unclosed_block_tag(("endtight",))


def _is_value(token: Token | None) -> bool:
    return token is not None and token.token_type == TokenType.VAR


def _closed_up(text: str, *, after_value: bool, before_value: bool) -> str:
    def instead(gap: re.Match[str]) -> str:
        left = text[gap.start() - 1] not in "<>" if gap.start() else after_value
        right = text[gap.end()] not in "<>" if gap.end() < len(text) else before_value
        return " " if left and right else ""

    return _BREAK.sub(instead, text)
