"""One blueprint for each group of pages."""
