"""Which of the two modes runs, where its data lie, and what signs and addresses it."""

from pathlib import Path
from urllib.parse import urlsplit

from django.core.exceptions import ImproperlyConfigured

from portal.environment import flag, text
from portal.folder import SUBFOLDERS, chosen, kept_key
from portal.version import version

BASE_DIR = Path(__file__).resolve().parents[2]
MODE = text("ROUGHPROOF_MODE", "embedded", choices={"embedded", "house"})
HOUSE = MODE == "house"
DATA_DIR = chosen(())
DATA_SUBFOLDERS = SUBFOLDERS
VERSION = version()
DEMO = flag("ROUGHPROOF_DEMO", False)
DEBUG = flag("ROUGHPROOF_DEBUG", False)
# What the house stack is spoken to in; 0 only where a private network or a test has no certificate.
HTTPS = flag("ROUGHPROOF_HTTPS", HOUSE)

SHORTEST_KEY = 50
LOOPBACK_HOSTS = "localhost,127.0.0.1,[::1]"

if HOUSE and (DEMO or DEBUG):
    raise ImproperlyConfigured("ROUGHPROOF_DEMO and ROUGHPROOF_DEBUG open doors; unset them in house mode.")


# --- Secret, hosts --------------------------------------------------------------------------------------

if HOUSE:
    SECRET_KEY = text("SECRET_KEY", why="It signs sessions and invitations.")
    if len(SECRET_KEY) < SHORTEST_KEY:
        raise ImproperlyConfigured(
            f"SECRET_KEY has {len(SECRET_KEY)} characters; it needs at least {SHORTEST_KEY}, at random, "
            "or sessions and invitations could be forged. "
            '`python3 -c "import secrets; print(secrets.token_urlsafe(50))"` prints one.'
        )
    ALLOWED_HOSTS = [host.strip() for host in text("ALLOWED_HOSTS", why="It lists our host names.").split(",")]
    if "*" in ALLOWED_HOSTS:
        raise ImproperlyConfigured("ALLOWED_HOSTS is “*”; list the host names Roughproof answers to, with commas.")
    PUBLIC_ADDRESS = text("PUBLIC_ADDRESS", why="It is the address that links in mails begin with.").rstrip("/")
else:
    # `demo` and `serve` write the kept key on first start; a command that signs nothing runs without it.
    SECRET_KEY = text("SECRET_KEY", "") or kept_key(DATA_DIR)
    ALLOWED_HOSTS = [host.strip() for host in text("ALLOWED_HOSTS", LOOPBACK_HOSTS).split(",")]
    if DEMO and set(ALLOWED_HOSTS) != set(LOOPBACK_HOSTS.split(",")):
        raise ImproperlyConfigured(
            "The demo signs anybody in, so it answers on this machine only: unset ALLOWED_HOSTS."
        )
    PUBLIC_ADDRESS = text("PUBLIC_ADDRESS", "http://127.0.0.1:8000").rstrip("/")

if urlsplit(PUBLIC_ADDRESS).scheme not in {"http", "https"} or not urlsplit(PUBLIC_ADDRESS).hostname:
    raise ImproperlyConfigured(f"PUBLIC_ADDRESS is “{PUBLIC_ADDRESS}”; write it as https://host.")
