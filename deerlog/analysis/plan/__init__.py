"""Where to sit and where to stay out, and what past sits brought."""
