#!/usr/bin/env python
"""The one door to every command: `python manage.py demo`, `serve`, `work`, `check`, …"""

import os
import sys

from portal import folder
from portal.version import version


def main(arguments: list[str]) -> None:
    """Run one command, or say in a sentence why Roughproof cannot start."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")
    if arguments[1:2] in (["version"], ["--version"]):
        print(version())  # Django's own answer would be Django's version.
        return
    folder.keep_to_ourselves(arguments[1] if len(arguments) > 1 else "")
    # Settings need the data folder and its key before any command can parse its own options.
    if len(arguments) > 1 and arguments[1] in folder.PREPARING_COMMANDS:
        folder.prepare(folder.chosen(arguments[2:]))
    elif len(arguments) > 1 and arguments[1] in folder.NAMING_COMMANDS:
        folder.name(folder.chosen(arguments[2:]))

    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(arguments)
    except ImproperlyConfigured as problem:
        sys.exit(f"Roughproof cannot start: {problem}")


if __name__ == "__main__":
    main(sys.argv)
