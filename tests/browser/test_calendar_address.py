"""The calendar's secret address is copied by a button where the browser lets it, and marked where it does not."""

import pytest

from reviews.actions.feeds import make_calendar_link
from tests.cast import gather
from tests.makers import a_book

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def own_page(visit):
    cast = gather(a_book())
    make_calendar_link(cast.illustrator.person)

    def open_page(**options):
        return visit(cast.illustrator.person, "/you/", has_pictures=False, **options)

    return open_page


def test_the_button_copies_the_address(own_page):
    page = own_page(permissions=["clipboard-read", "clipboard-write"])
    page.get_by_role("button", name="Copy the address").click()
    page.get_by_text("It is copied.").wait_for()
    copied = page.evaluate("navigator.clipboard.readText()")
    assert copied == page.get_by_label("The address").input_value() and "/calendar/" in copied
    assert page.problems == []


def test_where_copying_is_refused_the_address_is_marked_for_the_keyboard(own_page):
    page = own_page()
    page.evaluate("Object.defineProperty(navigator, 'clipboard', { value: undefined })")
    page.get_by_role("button", name="Copy the address").click()
    page.get_by_text("copy it with the keyboard").wait_for()
    marked = "field => field.value.slice(field.selectionStart, field.selectionEnd)"
    field = page.get_by_label("The address")
    assert field.evaluate(marked) == field.input_value()


def test_without_scripts_there_is_the_address_and_no_button(own_page):
    page = own_page(java_script_enabled=False)
    assert page.get_by_label("The address").is_visible()
    assert page.get_by_role("button", name="Copy the address").count() == 0
