import pytest
from django.core.exceptions import ImproperlyConfigured

from portal.environment import flag, number, text


def test_absent_name_without_default_is_refused_with_its_reason(monkeypatch):
    monkeypatch.delenv("SOME_NAME", raising=False)
    with pytest.raises(ImproperlyConfigured, match=r"SOME_NAME is not set\. It opens the door\. Set SOME_NAME"):
        text("SOME_NAME", why="It opens the door.")


@pytest.mark.parametrize("blank", ["", "   "])
def test_blank_counts_as_absent(monkeypatch, blank):
    monkeypatch.setenv("SOME_NAME", blank)
    assert text("SOME_NAME", "default") == "default"
    with pytest.raises(ImproperlyConfigured):
        text("SOME_NAME")


def test_value_may_come_from_a_file(monkeypatch, tmp_path):
    (tmp_path / "secret").write_text("from the file\n")
    monkeypatch.delenv("SOME_NAME", raising=False)
    monkeypatch.setenv("SOME_NAME_FILE", str(tmp_path / "secret"))
    assert text("SOME_NAME") == "from the file"


@pytest.mark.parametrize(
    ("content", "words"), [(None, "cannot be read"), ("", "is empty"), (b"\xff\xfe\xfd", "cannot be read")]
)
def test_file_that_gives_nothing_is_refused(monkeypatch, tmp_path, content, words):
    path = tmp_path / "secret"
    if content is not None:
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    monkeypatch.delenv("SOME_NAME", raising=False)
    monkeypatch.setenv("SOME_NAME_FILE", str(path))
    with pytest.raises(ImproperlyConfigured, match=words):
        text("SOME_NAME", "default")


def test_value_and_file_together_are_refused(monkeypatch, tmp_path):
    monkeypatch.setenv("SOME_NAME", "one")
    monkeypatch.setenv("SOME_NAME_FILE", str(tmp_path))
    with pytest.raises(ImproperlyConfigured, match="keep one of them"):
        text("SOME_NAME")


def test_value_outside_the_choices_is_refused(monkeypatch):
    monkeypatch.setenv("SOME_NAME", "huose")
    with pytest.raises(ImproperlyConfigured, match="“huose”; it must be one of embedded, house"):
        text("SOME_NAME", "embedded", choices={"embedded", "house"})


@pytest.mark.parametrize(
    ("value", "answer"), [("1", True), ("TRUE", True), ("on", True), ("0", False), ("no", False), ("", True)]
)
def test_flag_reads_yes_and_no(monkeypatch, value, answer):
    monkeypatch.setenv("SOME_NAME", value)
    assert flag("SOME_NAME", True) is answer


def test_flag_refuses_what_is_neither(monkeypatch):
    monkeypatch.setenv("SOME_NAME", "maybe")
    with pytest.raises(ImproperlyConfigured, match="write 1 for yes or 0 for no"):
        flag("SOME_NAME", False)


@pytest.mark.parametrize(("value", "words"), [("12.5", "whole number"), ("0", "between 1 and 9"), ("10", "between")])
def test_number_refuses_nonsense(monkeypatch, value, words):
    monkeypatch.setenv("SOME_NAME", value)
    with pytest.raises(ImproperlyConfigured, match=words):
        number("SOME_NAME", 5, low=1, high=9)


@pytest.mark.parametrize(("value", "answer"), [("1", 1), ("9", 9), ("", 5)])
def test_number_includes_its_bounds(monkeypatch, value, answer):
    monkeypatch.setenv("SOME_NAME", value)
    assert number("SOME_NAME", 5, low=1, high=9) == answer
