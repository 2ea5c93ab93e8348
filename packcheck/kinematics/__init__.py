"""Motions of the scene as chains of joints: what carries what, driven by which parameter, and how far it gets."""
