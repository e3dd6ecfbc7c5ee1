"""The drawing of the sample property: an invented farm, its deer, cameras, people and mishaps."""
