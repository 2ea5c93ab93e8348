"""Text that knows its place: YAML, CSV, arithmetic, words for messages, changes in place."""
