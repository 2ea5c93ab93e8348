"""Tests of the scene room: from YAML text to a frozen scene."""
