"""The grammar of one value: lengths, angles, coordinates, places, sizes."""
