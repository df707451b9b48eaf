"""Use cases, one verb a file; the only writers."""
