"""Fuzzing: inputs nobody wrote on purpose."""
