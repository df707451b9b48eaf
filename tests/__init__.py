"""Tests. A package of its own, so that no installed package of this name comes before it."""
