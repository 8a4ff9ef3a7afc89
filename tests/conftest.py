"""What all tests share: properties are tried on the same examples in every run, however slow the machine."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("run", deadline=None, derandomize=True)
settings.register_profile("soak", deadline=None, max_examples=2000)
settings.load_profile("soak" if os.environ.get("ASFOUND_SOAK") else "run")
