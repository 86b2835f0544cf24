"""The data folder of the embedded mode: which one, what lies in it, and the key made on first start.

Imported before settings are read, so nothing here may import Django.
"""

import os
import secrets
import stat
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from reviews.durable import flush_file, flush_folder

BASE = Path(__file__).resolve().parent.parent
PREPARING_COMMANDS = {"demo", "serve", "restore"}
# Reads a folder that --data names, and makes none: a slip of the pen must not back up an empty folder.
NAMING_COMMANDS = {"backup"}
SUBFOLDERS = ("pictures", "incoming", "mail")
# Commands that write into the data folder: what they make is nobody else's to read. Others may write files for people.
KEEPING_COMMANDS = PREPARING_COMMANDS | {"web", "work", "hand_in", "migrate", "jobs", "sign_out", "verify_pictures"}
_OURS = ("roughproof.sqlite3*", "secret.key", "*.lock", "this-is-the-demo", ".gitignore")


def chosen(arguments: Sequence[str]) -> Path:
    """Return the folder named by `--data`, else by ROUGHPROOF_DATA, else `var/` in the checkout."""
    named = os.environ.get("ROUGHPROOF_DATA", "").strip()
    for position, argument in enumerate(arguments):
        if argument == "--data" and position + 1 < len(arguments):
            named = arguments[position + 1]
        elif argument.startswith("--data="):
            named = argument.removeprefix("--data=")
    return Path(named).expanduser().resolve() if named else BASE / "var"


def prepare(data: Path) -> None:
    """Make the folder and its key if absent, and name the folder to every process started from here."""
    name(data)
    if os.environ.get("ROUGHPROOF_MODE", "").strip() == "house":
        return
    try:
        for each in ("", *SUBFOLDERS):
            (data / each).mkdir(mode=0o700, parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=data / each):
                pass  # A folder that is there may still be one that cannot be written in.
        if data.stat().st_mode & stat.S_ISVTX:
            raise SystemExit(f"{data} belongs to everybody on this machine. Name a folder of its own with --data DIR.")
        shut(data)
        flush_folder(data)
        with suppress(PermissionError):  # a folder that others own need not be readable to us
            flush_folder(data.parent)
        make_key(data / "secret.key")
        if not (data / ".gitignore").exists():
            # Inside a checkout “git add .” would take database, pictures and key along.
            (data / ".gitignore").write_text("*\n", encoding="ascii")
    except OSError as problem:
        raise SystemExit(
            f"Roughproof cannot use the data folder {data}: {problem.strerror}. Name another with --data DIR."
        ) from None


def name(data: Path) -> None:
    """Name the folder to settings and to every process started from here."""
    os.environ["ROUGHPROOF_DATA"] = str(data)


def keep_to_ourselves(command: str) -> None:
    """Let nobody else read what this command will write into the data folder."""
    if command in KEEPING_COMMANDS:
        os.umask(0o077)


def shut(data: Path) -> None:
    """Take the data folder from everybody else: folders 0700, files 0600, whatever they were before.

    Somebody may have made the folder by hand, or restored it from a copy. What is not ours in it is left alone,
    and so is what a link points at.
    """
    for path, wanted in _kept(data):
        with suppress(FileNotFoundError):  # a server that runs already takes files away meanwhile
            found = path.lstat().st_mode
            if not stat.S_ISLNK(found) and stat.S_IMODE(found) != wanted:
                path.chmod(wanted)


def _kept(data: Path) -> Iterator[tuple[Path, int]]:
    yield data, 0o700
    for pattern in _OURS:
        for path in data.glob(pattern):
            yield path, 0o600
    for name in SUBFOLDERS:
        for folder, _, files in os.walk(data / name):
            yield Path(folder), 0o700
            for file in files:
                yield Path(folder, file), 0o600


def kept_key(data: Path) -> str:
    """Return the folder's secret key, or nothing where none was made yet."""
    try:
        return (data / "secret.key").read_text(encoding="ascii").strip()
    except FileNotFoundError:
        return ""


def make_key(path: Path) -> None:
    """Write a random secret key unless there is one; two processes starting at once keep the first one's."""
    if path.exists():
        return
    fresh = path.with_name(f".{path.name}.{os.getpid()}")
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(descriptor, "w") as handle:
        handle.write(secrets.token_urlsafe(50))
    flush_file(fresh)  # a power cut must not leave a name without a key: what it signed would be void
    try:
        os.link(fresh, path)  # Refuses to replace, unlike rename: whoever was first wins.
    except FileExistsError:
        pass
    finally:
        fresh.unlink()
        flush_folder(path.parent)
