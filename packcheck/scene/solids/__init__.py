"""The grammar of shapes: what may be written for each, and the shape it makes."""
