"""Who comes in and how: people, sessions, browsers, the proxy in front."""

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from portal.environment import flag, networks, number, words
from portal.settings.mode import HOUSE, HTTPS, PUBLIC_ADDRESS

# --- People and sessions --------------------------------------------------------------------------------

AUTH_USER_MODEL = "reviews.Person"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
# A link to a new password is used at once or asked for again; three days, the usual, is long for a key in a mailbox.
PASSWORD_RESET_TIMEOUT = 24 * 60 * 60
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}", **more}
    for name, more in (
        ("UserAttributeSimilarityValidator", {}),
        ("MinimumLengthValidator", {"OPTIONS": {"min_length": 10}}),
        ("CommonPasswordValidator", {}),
        ("NumericPasswordValidator", {}),
    )
]
LOGIN_URL = "reviews:sign-in"
LOGIN_REDIRECT_URL = "reviews:desk"
LOGOUT_REDIRECT_URL = "reviews:sign-in"
SESSION_ENGINE = "portal.sessions"
# Who has not looked in for so long signs in again; guests, who have no password, stay until their invitation ends.
IDLE_SECONDS = number("ROUGHPROOF_IDLE_HOURS", 72, low=1, high=14 * 24) * 3600
# The prefix binds a cookie to this very host: no neighbour under the same domain can plant one.
COOKIE_PREFIX = "__Host-" if HTTPS else ""
SESSION_COOKIE_NAME = f"{COOKIE_PREFIX}roughproof_session"
SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_COOKIE_SECURE = HTTPS
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"  # Strict would drop the session on a link followed from a mail
CSRF_FAILURE_VIEW = "reviews.views.responses.not_our_form"
CSRF_COOKIE_NAME = f"{COOKIE_PREFIX}roughproof_csrf"
CSRF_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_TRUSTED_ORIGINS = [PUBLIC_ADDRESS] if HTTPS else []
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"


# --- What a browser may do ------------------------------------------------------------------------------

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "blob:", "data:"],  # blob and data: thumbnails of files not yet handed in
        "connect-src": [SELF],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = number("ROUGHPROOF_HSTS_SECONDS", 31_536_000, low=0, high=63_072_000) if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS


# --- The proxy in front ---------------------------------------------------------------------------------

# Only behind a proxy that sets the headers itself; otherwise anybody could claim to come by https from elsewhere.
BEHIND_PROXY = flag("ROUGHPROOF_BEHIND_PROXY", False)
if HTTPS and not HOUSE and not BEHIND_PROXY:
    raise ImproperlyConfigured(
        "ROUGHPROOF_HTTPS needs a proxy with a certificate in front, as `serve` itself speaks http: "
        "set ROUGHPROOF_BEHIND_PROXY=1 too."
    )
# Where the proxy's own connections come from; “unix” for a socket in the file system.
TRUSTED_PROXIES = networks("ROUGHPROOF_TRUSTED_PROXY", "127.0.0.1,::1", also={"unix"})
TRUSTED_PROXY_HEADERS = words(
    "ROUGHPROOF_TRUSTED_PROXY_HEADERS",
    "x-forwarded-for,x-forwarded-proto",
    choices={"x-forwarded-for", "x-forwarded-proto", "x-forwarded-host"},
)
# How many proxies of our own stand in a row: of each header the entry so many from its end is believed.
TRUSTED_PROXY_COUNT = number("ROUGHPROOF_TRUSTED_PROXY_COUNT", 1, low=1, high=10)
