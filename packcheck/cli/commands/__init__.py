"""One module a command, each named as it is typed."""
