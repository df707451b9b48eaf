"""The regime: what is prescribed, phase by phase."""
