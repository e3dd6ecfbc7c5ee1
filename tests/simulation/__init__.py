"""Simulated properties whose truth is known: deer moving over ground, cameras as detectors.

Nothing here knows the presence model that it is used to judge: no hidden states, no daily
chances of arriving or leaving, and no rate or prior taken from it.
"""
