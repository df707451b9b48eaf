"""Marshmallow schemas: what comes in and goes out, for JSON and for HTML forms."""
