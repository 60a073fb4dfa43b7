"""One module a reader's document, and how they are written to disk."""
