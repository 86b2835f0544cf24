"""Every address of the portal. Each name stands in ``rules.permits.PAGES``."""

from django.urls import path

app_name = "reviews"

urlpatterns: list = []
