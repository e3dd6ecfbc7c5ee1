"""Which ground a buck uses in each phase, and when he changes it."""
