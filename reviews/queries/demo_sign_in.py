"""The signed words in the demo's one-click addresses, and whom they name."""

from django.core import signing

from reviews.models.people import Person

SALT = "reviews.demo-sign-in"
GOOD_FOR_SECONDS = 7 * 24 * 3600


def sign_in_path(email: str) -> str:
    """Return the path that signs this person in; the command printing it runs without the demo's routes."""
    return f"/demo/sign-in/{signing.dumps(email, salt=SALT)}"


def person_named_by(token: str) -> Person | None:
    """Return the person whom the token names, or nothing where it is forged, stale, or the person is gone."""
    try:
        email = signing.loads(token, salt=SALT, max_age=GOOD_FOR_SECONDS)
    except signing.BadSignature:
        return None
    return Person.objects.filter(email=email, is_active=True).first()
