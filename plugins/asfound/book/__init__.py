"""Everything loaded and cross-linked; answers questions about it."""

from .book import Book

__all__ = ["Book"]
