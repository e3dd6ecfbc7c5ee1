"""Figures in plain sentences."""
