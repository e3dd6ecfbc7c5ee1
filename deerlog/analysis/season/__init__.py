"""The season in one look: each buck's own calendar, his days to come, the ways to hunt him."""
