"""Damaged files through the door, by the thousand: `python -m tests.bench.fuzz 5000 [SEED]`.

Prints how many were accepted and refused, under which codes, and the slowest verdict; anything but a verdict ends the
run, and the file that did it is kept. The test run does the same with fewer (`tests/imaging/fuzzing.py`).
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")
    import django

    django.setup()  # the sentences of refusals are the portal's
    from tests.imaging.fuzzing import feed

    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    with tempfile.TemporaryDirectory() as name:
        counted, slowest = feed(int(sys.argv[1]), seed, Path(name))
    print(f"{counted.total()} mutants of seed {seed}, slowest verdict {slowest:.2f} s: {dict(counted.most_common())}")


if __name__ == "__main__":
    main()
