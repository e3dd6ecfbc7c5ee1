"""The photo log: every file ever met, as the cameras showed it."""
