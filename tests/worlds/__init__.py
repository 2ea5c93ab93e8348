"""Scenes drawn again by the tests' own account of what is not known: worlds, true solids, gaps by the oracles."""
