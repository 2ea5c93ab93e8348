"""Shapes and geometry files as solids with a stated error."""
