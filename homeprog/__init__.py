"""Homeprog: home programmes after extensor tendon repair."""
