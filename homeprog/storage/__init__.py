"""Rows and queries; every query is scoped to one clinic."""
