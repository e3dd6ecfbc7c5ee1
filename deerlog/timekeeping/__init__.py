"""Time and light: local clocks, the sun, the deer year, and gaps between photos."""
