"""The one Jinja environment: autoescape on, undefined names an error, templates overridable by a site.

A site's own folder of templates comes first. There, ``recipe/hazards.html`` replaces ours, or extends
``asfound/recipe/hazards.html`` and overrides one of its blocks.
"""

from __future__ import annotations

from pathlib import Path

from jinja2 import ChoiceLoader, Environment, FileSystemLoader, PrefixLoader, StrictUndefined

FOLDER = Path(__file__).parent
ASSETS = FOLDER / "assets"


def environment(overrides: Path | None = None) -> Environment:
    """A new environment; templates are compiled at their first use and kept."""
    own = FileSystemLoader(FOLDER / "templates")
    first = [FileSystemLoader(overrides)] if overrides else []
    return Environment(
        loader=ChoiceLoader([*first, own, PrefixLoader({"asfound": own})]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        cache_size=-1,
    )
