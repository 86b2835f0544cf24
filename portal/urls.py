"""The addresses: everything of ours is in reviews.urls."""

from django.conf import settings
from django.urls import URLPattern, URLResolver, include, path

handler500 = "reviews.views.failing.failed"

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("reviews.urls")),
]

if settings.DEMO:
    # One-click sign-in exists only while `manage.py demo` runs: without it there is no such address.
    from reviews.views.demo_sign_in import demo_sign_in

    urlpatterns.insert(0, path("demo/sign-in/<str:token>", demo_sign_in, name="demo-sign-in"))
