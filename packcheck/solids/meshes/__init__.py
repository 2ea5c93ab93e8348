"""From a geometry file to solids: read, mended, cut, simplified, kept."""
