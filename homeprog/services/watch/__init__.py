"""The grounds of each kind of alert that is not a report: what is read, and what it comes to."""
