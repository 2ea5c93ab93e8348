"""What a bay looks like: outlines, views, sweeps, lists and weights."""
