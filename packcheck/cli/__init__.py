"""The command line: what is typed, in and out."""
