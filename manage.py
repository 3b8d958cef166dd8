#!/usr/bin/env python
"""Stillcount from a terminal: `start` serves a real studio, `demo` a filled one, `test` tests it.

Run with any Python 3.11 or newer: what else is needed is installed beside this file, once.
"""

import os
import sys
from pathlib import Path

from studio import data_folder, environment

PROJECT = Path(__file__).resolve().parent


def main() -> None:
    command = sys.argv[1] if len(sys.argv) > 1 else ""
    if command == "test":
        environment.enter("requirements-test.lock", needs="pytest")
    else:
        environment.enter("requirements.lock", needs="django")
    if command == "demo":
        data_folder.keep_apart(os.environ, PROJECT / "demo-data")
    if command in {"demo", "start"}:
        # The secret key must exist before the settings read it.
        data_folder.prepare(data_folder.location())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
