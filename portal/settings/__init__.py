"""Settings, from the environment only. README.md lists every name.

Two modes run the same code. *Embedded* (the default) keeps everything in one data folder: SQLite,
pictures, mail written to files. *House* uses PostgreSQL, Redis, S3-compatible storage and SMTP, and
refuses to start while one of their names is missing.
"""

from portal.settings.application import *  # noqa: F403
from portal.settings.doors import *  # noqa: F403
from portal.settings.kept import *  # noqa: F403
from portal.settings.mode import *  # noqa: F403
from portal.settings.telling import *  # noqa: F403
from portal.settings.work import *  # noqa: F403
