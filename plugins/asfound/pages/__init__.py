"""Pages: one view for each kind of page, rendered straight to HTML; nothing here knows the host."""

from ..source.pictures import PictureProblem
from .build import PageOut, Pages, Rendered, TocEntry
from .environment import ASSETS, TemplateFault

__all__ = ["ASSETS", "PageOut", "Pages", "PictureProblem", "Rendered", "TemplateFault", "TocEntry"]
