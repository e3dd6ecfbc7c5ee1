"""When each camera was really running."""
