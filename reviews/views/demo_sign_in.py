"""The demo's one-click sign-in: it exists only while `manage.py demo` runs, and on this machine only."""

from ipaddress import ip_address

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET

from reviews.queries.demo_sign_in import person_named_by
from reviews.views.proxy import came_through_a_proxy
from reviews.views.sign_in import let_in


@login_not_required
@require_GET
def demo_sign_in(request: HttpRequest, token: str) -> HttpResponse:
    if not settings.DEMO or not _is_from_this_machine(request):
        raise Http404
    person = person_named_by(token)
    if person is None:
        raise Http404
    let_in(request, person)
    return redirect(settings.LOGIN_REDIRECT_URL)


def _is_from_this_machine(request: HttpRequest) -> bool:
    """A proxy in front would make everybody look local."""
    if came_through_a_proxy(request):
        return False
    return ip_address(request.META.get("REMOTE_ADDR") or "0.0.0.0").is_loopback
