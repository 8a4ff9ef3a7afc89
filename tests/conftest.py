"""What all tests share: properties are tried on the same examples in every run, however slow the machine."""

from __future__ import annotations

import atexit
import logging
import os
import shutil
import sys
import tempfile

import pytest
from hypothesis import settings

# The tests keep nothing in the user's cache folder, and find nothing there; all processes of a run share one.
if "PYTEST_XDIST_WORKER" not in os.environ:
    os.environ["XDG_CACHE_HOME"] = tempfile.mkdtemp(prefix="asfound-tests-")
    atexit.register(shutil.rmtree, os.environ["XDG_CACHE_HOME"], ignore_errors=True)

# A program that a test starts, of which there are many, finds its modules compiled.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

settings.register_profile("run", deadline=None, derandomize=True)
settings.register_profile("soak", deadline=None, max_examples=2000)
settings.load_profile("soak" if os.environ.get("ASFOUND_SOAK") else "run")


@pytest.fixture(autouse=True)
def host_says_all() -> None:
    """In one process the host says no message twice; a test must not depend on those before it."""
    log = logging.getLogger("mkdocs.commands.build")
    for silencer in list(log.filters):
        log.removeFilter(silencer)
