"""The answers: visits, daylight, presence, residency. Pure: tables in, tables out."""
