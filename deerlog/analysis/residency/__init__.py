"""Who lives here: presence day by day, patterns, the score and what argued for it."""
