"""Pages: one view for each kind of page, rendered straight to HTML; nothing here knows the host.

What is named here is imported when it is asked for: commands need other parts and answer at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..source.pictures import PictureProblem
    from .build import PageOut, Pages, Rendered, TocEntry
    from .environment import ASSETS, TemplateFault

__all__ = ["ASSETS", "PageOut", "Pages", "PictureProblem", "Rendered", "TemplateFault", "TocEntry"]

_WHERE = {
    "ASSETS": ".environment",
    "PageOut": ".build",
    "Pages": ".build",
    "PictureProblem": "..source.pictures",
    "Rendered": ".build",
    "TemplateFault": ".environment",
    "TocEntry": ".build",
}


def __getattr__(name: str) -> object:
    """PEP 562."""
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_WHERE[name], __name__), name)
