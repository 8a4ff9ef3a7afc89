"""A review as one HTML file: no scripts, no other files, nothing of the data unescaped."""

from __future__ import annotations

from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from . import words
from .review import Review


def as_html(review: Review) -> str:
    """The whole review as a document that stands by itself."""
    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("review.html").render(review=review, words=words)
