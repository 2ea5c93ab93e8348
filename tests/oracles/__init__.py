"""Independent answers to check packcheck against. Nothing in here imports packcheck."""
