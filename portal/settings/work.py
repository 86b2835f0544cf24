"""What is done beside the requests: jobs, mail, time stamps."""

from email.utils import parseaddr
from urllib.parse import urlsplit

from django.core.exceptions import ImproperlyConfigured

from portal.environment import number, text
from portal.settings.mode import DATA_DIR, HOUSE

# --- Jobs -----------------------------------------------------------------------------------------------

# A worker that died is believed dead after this; a living one renews at a third of it.
JOB_LEASE_SECONDS = number("ROUGHPROOF_JOB_LEASE", 60, low=2, high=3600)
# A job still waiting this long after its id was sent is sent again: the broker may have lost it.
JOB_RESEND_SECONDS = number("ROUGHPROOF_JOB_RESEND", 120, low=1, high=3600)
JOB_MAX_ATTEMPTS = number("ROUGHPROOF_JOB_ATTEMPTS", 5, low=1, high=50)
# How long gunicorn, Celery and the sweep wait for a database and its tables before they end in a sentence.
START_PATIENCE_SECONDS = number("ROUGHPROOF_START_PATIENCE", 90, low=0, high=3600)
JOB_SLOTS = number("ROUGHPROOF_JOB_SLOTS", 2, low=1, high=64)
if HOUSE:
    CELERY_BROKER_URL = text("REDIS_URL", why="House mode hands work to its workers through Redis: redis://host/0.")
    if urlsplit(CELERY_BROKER_URL).scheme not in {"redis", "rediss", "unix"}:
        raise ImproperlyConfigured("REDIS_URL must begin with redis:// or rediss://.")
CELERY_TASK_IGNORE_RESULT = True
# A message is acknowledged as it is taken. The row is what is still to be done, with a lease that runs out when its
# worker dies; and a worker that acknowledged afterwards ended itself where the broker had gone away meanwhile.
CELERY_TASK_ACKS_LATE = False
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_CONCURRENCY = JOB_SLOTS
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_WORKER_CANCEL_LONG_RUNNING_TASKS_ON_CONNECTION_LOSS = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
JOB_QUEUE, JOB_MAIL_QUEUE = "roughproof", "roughproof-mail"
CELERY_TASK_DEFAULT_QUEUE = JOB_QUEUE
# Both, where a worker is not told which: a house that starts one worker only still sends its mail.
CELERY_TASK_QUEUES: dict[str, dict[str, str]] = {JOB_QUEUE: {}, JOB_MAIL_QUEUE: {}}
CELERY_IMPORTS = ["reviews.tasks.carrier"]
CELERY_BROKER_TRANSPORT_OPTIONS = {
    # What was taken and not acknowledged when its worker died; the sweep sends it again long before.
    "visibility_timeout": 3600,
    # A deed must not hang because Redis is away: the row is written, the sweep sends it later. Left alone,
    # a refused connection is tried again for 6 s, and a silent one twice.
    "max_retries": 0,
    "interval_start": 0,
    "interval_step": 0.1,
    "interval_max": 0.2,
    "socket_connect_timeout": 3,
    # A broker that accepts and is silent; longer than the second for which a worker asks it to wait for news.
    "socket_timeout": 3,
}


# --- Mail -----------------------------------------------------------------------------------------------

if HOUSE:
    EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    EMAIL_HOST = text("SMTP_HOST", why="Letters are also sent by mail.")
    _SMTP_SECURITY = text("SMTP_SECURITY", "starttls", choices={"starttls", "tls", "none"})
    EMAIL_USE_TLS = _SMTP_SECURITY == "starttls"
    EMAIL_USE_SSL = _SMTP_SECURITY == "tls"
    EMAIL_PORT = number("SMTP_PORT", {"starttls": 587, "tls": 465, "none": 25}[_SMTP_SECURITY], low=1, high=65535)
    EMAIL_HOST_USER = text("SMTP_USER", "")
    EMAIL_HOST_PASSWORD = text("SMTP_PASSWORD", "")
    DEFAULT_FROM_EMAIL = text("MAIL_FROM", why="It is the sender of our mails.")
    if "@" not in parseaddr(DEFAULT_FROM_EMAIL)[1]:
        raise ImproperlyConfigured(f"MAIL_FROM is “{DEFAULT_FROM_EMAIL}”; it must be a mail address.")
else:
    EMAIL_BACKEND = "portal.mail_files.EmailBackend"
    EMAIL_FILE_PATH = str(DATA_DIR / "mail")
    DEFAULT_FROM_EMAIL = text("MAIL_FROM", "Roughproof <roughproof@localhost>")
# For how many days mails that are files are kept; 0 for ever. A year, so that codes in them outlast most arguments.
MAIL_DAYS = number("ROUGHPROOF_MAIL_DAYS", 365, low=0, high=36_500)
SERVER_EMAIL = DEFAULT_FROM_EMAIL
EMAIL_TIMEOUT = 10
EMAIL_SUBJECT_PREFIX = ""


# --- Time stamps ----------------------------------------------------------------------------------------

# A service outside (RFC 3161) that vouches for when a line of the ledger stood, and the certificates that vouch for it.
TIMESTAMP_URL = text("TIMESTAMP_URL", "")
TIMESTAMP_ROOTS = text("TIMESTAMP_ROOTS", "")
if TIMESTAMP_URL and urlsplit(TIMESTAMP_URL).scheme not in {"http", "https"}:
    raise ImproperlyConfigured(f"TIMESTAMP_URL is “{TIMESTAMP_URL}”; write it as https://host/path.")
if TIMESTAMP_URL and not TIMESTAMP_ROOTS:
    raise ImproperlyConfigured(
        "TIMESTAMP_ROOTS is missing: name the file with the service’s root certificates. Without them nothing says "
        "that a stamp is the service’s own."
    )
