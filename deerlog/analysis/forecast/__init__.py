"""The chance of a visit in shooting light, by buck, site, half and day."""
