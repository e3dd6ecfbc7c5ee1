"""Is he around, day by day: the patterns of coming and going, and what the record says of them."""
