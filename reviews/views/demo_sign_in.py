"""The demo's one-click sign-in. The address exists only while `manage.py demo` runs, on this machine only."""

from ipaddress import ip_address

from django.conf import settings
from django.contrib.auth import get_user_model, login
from django.core import signing
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET

SALT = "reviews.demo-sign-in"
GOOD_FOR_SECONDS = 7 * 24 * 3600


def sign_in_path(email: str) -> str:
    """Return the path that signs this person in. The command that prints it runs without the demo's routes."""
    return f"/demo/sign-in/{signing.dumps(email, salt=SALT)}"


@require_GET
def demo_sign_in(request: HttpRequest, token: str) -> HttpResponse:
    if not settings.DEMO or not _is_from_this_machine(request):
        raise Http404
    try:
        email = signing.loads(token, salt=SALT, max_age=GOOD_FOR_SECONDS)
        person = get_user_model().objects.get(email=email, is_active=True)
    except (signing.BadSignature, get_user_model().DoesNotExist):
        raise Http404 from None
    login(request, person, backend="django.contrib.auth.backends.ModelBackend")
    return redirect(settings.LOGIN_REDIRECT_URL)


def _is_from_this_machine(request: HttpRequest) -> bool:
    """A proxy in front would make everybody look local, and says so in these headers."""
    if "HTTP_X_FORWARDED_FOR" in request.META or "HTTP_FORWARDED" in request.META:
        return False
    return ip_address(request.META.get("REMOTE_ADDR") or "0.0.0.0").is_loopback
