"""Tests of the pair gap: laws, campaigns, accuracy."""
