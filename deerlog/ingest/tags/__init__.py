"""What a person said is in the photos."""
