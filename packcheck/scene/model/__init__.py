"""The scene as plain frozen facts, and nothing about how it is written."""
