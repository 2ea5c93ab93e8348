"""All files of a scene as one tree, with every fault of keys, names and forms."""
