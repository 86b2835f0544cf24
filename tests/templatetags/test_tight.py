"""A line written on several says what it would say on one."""

import pytest
from django.template import Context, Template, TemplateSyntaxError


def said(text: str, **values: object) -> str:
    return Template(text).render(Context(values))


@pytest.mark.parametrize(
    ("written", "means"),
    [
        ("{% tight %}\n  <b>\n    one\n  </b>\n{% endtight %}", "<b>one</b>"),
        ("{% tight %}one\n  two{% endtight %}", "one two"),
        ("{% tight %}round\n  {{ n }}\n  of 3{% endtight %}", "round 2 of 3"),
        ("{% tight %}{{ n }}\n{{ n }}{% endtight %}", "2 2"),
        ("{% tight %}one\n  {% if n %}\n    , two\n  {% else %}no{% endif %}\n  .{% endtight %}", "one, two."),
        ("{% tight %}<a class='x'\n  href='y'>z</a>\n <i></i>{% endtight %}", "<a class='x' href='y'>z</a><i></i>"),
        ("{% tight %}<b>one</b> {% if n %} two {% endif %}{% endtight %}", "<b>one</b>  two "),
        ("{% tight %}{% for x in n %}\n{{ x }}\n{% if forloop.first %}; {% endif %}{% endfor %}{% endtight %}", "a; b"),
        ("<p>\n{% tight %}\nx\n{% endtight %}\n</p>", "<p>\nx\n</p>"),
    ],
)  # fmt: skip
def test_breaks_next_to_tags_leave_nothing_and_between_words_a_space(written, means):
    assert said(written, n="ab" if "for x" in written else 2) == means


def test_a_value_keeps_its_own_line_breaks():
    assert said("{% tight %}<q>\n{{ words }}\n</q>{% endtight %}", words="one\ntwo") == "<q>one\ntwo</q>"


def test_a_long_sentence_is_said_beforehand_and_leaves_no_trace_of_it():
    beforehand = "{% blocktranslate asvar long %}\n one\n two’s\n{% endblocktranslate %}"
    assert said("{% tight %}" + beforehand + "\n<p>{{ long }}</p>{% endtight %}") == "<p>one two’s</p>"


def test_one_that_never_ends_is_named():
    with pytest.raises(TemplateSyntaxError, match="Unclosed tag on line 2: 'tight'"):
        Template("\n{% tight %}<b>")
