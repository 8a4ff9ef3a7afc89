"""Pull requests as data: what each changes in the car, word for word.

``tests/review/base`` is a small book. A case in ``tests/review/cases`` holds what it is about and the files
that differ: ``before`` (on both sides), ``after``, ``removed.txt`` (paths the pull request removes),
``committed.txt`` (what git says of new signatures) and ``report.txt``, the review as text.
``ASFOUND_ACCEPT=1`` writes the reports anew; what they then say must be read.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from asfound.review.text import as_text

sys.path.insert(0, str(Path(__file__).parents[1] / "review"))
from review_cases import CASES, reviewed


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.name)
def test_pull_request(case: Path) -> None:
    review = reviewed(case)
    said, file = as_text(review), case / "report.txt"
    if os.environ.get("ASFOUND_ACCEPT") == "1":
        file.write_text(said, "utf-8")
    assert said == file.read_text("utf-8")
    # Reading only what may matter must not change a word.
    assert reviewed(case, whole=True) == review
