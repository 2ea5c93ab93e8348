"""The parts of a scene as they stand, with their limits and what is not known of them."""
