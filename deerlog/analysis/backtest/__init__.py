"""How good the chances have been, replayed on past weeks."""
