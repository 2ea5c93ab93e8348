"""Which limit applies between two parts, and where that figure comes from."""
