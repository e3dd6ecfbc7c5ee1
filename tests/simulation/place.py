"""The invented place where the simulated properties lie."""

LATITUDE, LONGITUDE, ZONE = 40.1, -90.9, "America/Chicago"

METRES_PER_DEGREE = 111_195.0
"""Of latitude, on a sphere of radius 6,371 km."""
