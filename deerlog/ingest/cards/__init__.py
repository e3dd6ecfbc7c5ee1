"""Files on the cards, one by one: found, opened, read."""
