"""Where everything stands: faces, rests, mirrors and stages turned into poses."""
