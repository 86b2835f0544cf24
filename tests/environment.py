"""Loaded before settings are read: the environment in which tests run, whatever the shell had.

A folder of its own per test process, a key that is nobody's, and none of the names that would turn the run
towards real servers or a real data folder.

A quarter of the processor's time of a test of pages went into looking for garbage among what was loaded for good, so
that is set apart once, and what comes after it is looked through more rarely.
"""

import atexit
import gc
import os
import shutil
import tempfile
from pathlib import Path

_OURS = ("ROUGHPROOF_", "S3_", "SMTP_")
_NAMED = {"SECRET_KEY", "ALLOWED_HOSTS", "DATABASE_URL", "REDIS_URL", "PUBLIC_ADDRESS", "MAIL_FROM", "STATIC_ROOT"}

for _name in list(os.environ):
    if _name.startswith(_OURS) or _name.removesuffix("_FILE") in _NAMED:
        del os.environ[_name]

DATA = Path(tempfile.mkdtemp(prefix="roughproof-tests-"))
atexit.register(shutil.rmtree, DATA, ignore_errors=True)
for _folder in ("pictures", "incoming", "mail"):
    (DATA / _folder).mkdir()
os.environ["ROUGHPROOF_DATA"] = str(DATA)
os.environ["SECRET_KEY"] = "only-for-tests-" + "0123456789" * 4
os.environ["ROUGHPROOF_LOG"] = "ERROR"


GARBAGE_EVERY = (20_000, 20, 100)


def pytest_collection_finish() -> None:
    gc.collect()
    gc.freeze()
    gc.set_threshold(*GARBAGE_EVERY)
