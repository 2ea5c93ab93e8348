"""Copies, images, tables, layouts and params written out."""
