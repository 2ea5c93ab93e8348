"""Pairs of parts while motions go on: their settings, their gaps, how to say where."""
