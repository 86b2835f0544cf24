"""The applications, what each request passes through, and how pages are made."""

from portal.settings.mode import BASE_DIR

INSTALLED_APPS = [
    "portal.apps.PortalConfig",
    "reviews.apps.ReviewsConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "csp",
    "leaflet",  # for its static files only: its template tags would need inline scripts
]
MIDDLEWARE = [
    "portal.logs.NumberRequests",
    "portal.health.AnswerProbes",  # before what asks for our host name, https or a sign-in: a probe has none of them
    "reviews.views.proxy.ThroughProxy",  # first: everything below reads the visitor's own address and scheme
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "reviews.views.responses.KeptNowhere",  # below the static files, which anybody may keep
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "portal.sessions.KnowWhoIsIn",
    "reviews.views.bodies.LimitBodies",  # before any form is read, and it must know who sends
    # Signed in unless a view says otherwise: a forgotten decorator must not open a door.
    "reviews.views.signed_in.AskForSignIn",
    "django.contrib.messages.middleware.MessageMiddleware",
    "reviews.views.sessions.EndIdle",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "reviews.views.responses.SayWhy",
    "reviews.views.pressed.AnswerOnce",
    "reviews.views.no_book_yet.NoBookYet",
]
ROOT_URLCONF = "portal.urls"
WSGI_APPLICATION = "portal.wsgi.application"
ASGI_APPLICATION = "portal.asgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            # Every page has these words without loading them. Of two libraries the later one's tag wins, so `press`
            # stands last: its {% csrf_token %} also writes the form's own key, by which a press counts once.
            "builtins": [
                "django.templatetags.i18n",
                "reviews.templatetags.tight",
                "reviews.templatetags.press",
            ],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "portal.strips.strips",
            ],
        },
    },
]
