"""Random single changes to the package, and which of them the tests catch."""
