"""The grammar of a scene: what may be written where."""
