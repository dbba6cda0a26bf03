"""The calculation report: one document of sections, written as a page, as Markdown and as comma-separated values."""
