"""Pages: one view for each kind of page, rendered straight to HTML; knows nothing of the host that wraps it."""
