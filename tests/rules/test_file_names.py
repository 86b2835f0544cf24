"""Files of the same name are told apart, as people's own disks do it."""

import pytest

from reviews.rules.file_names import name_told_apart


@pytest.mark.parametrize(
    ("name", "taken", "told"),
    [
        ("scan.jpg", set(), "scan.jpg"),
        ("scan.jpg", {"scan.jpg"}, "scan (2).jpg"),
        ("scan.jpg", {"scan.jpg", "scan (2).jpg"}, "scan (3).jpg"),
        ("scan", {"scan"}, "scan (2)"),
        ("Dr. Owl at home", {"Dr. Owl at home"}, "Dr. Owl at home (2)"),
        (".jpg", {".jpg"}, ".jpg (2)"),
    ],
)
def test_the_second_of_a_name_is_numbered(name, taken, told):
    assert name_told_apart(name, taken) == told


def test_a_name_as_long_as_a_name_can_be_stays_so():
    name = f"{'a' * 251}.jpg"
    assert name_told_apart(name, {name}) == f"{'a' * 247} (2).jpg"
