"""These read the app's own clock: it begins at an hour that is chosen, not found."""

from tests.hour import at_this_hour

__all__ = ["at_this_hour"]
