"""Pages: one view for each kind of page, rendered straight to HTML; knows nothing of the host that wraps it."""

from .build import PageOut, Pages, Rendered, TocEntry
from .environment import ASSETS

__all__ = ["ASSETS", "PageOut", "Pages", "Rendered", "TocEntry"]
