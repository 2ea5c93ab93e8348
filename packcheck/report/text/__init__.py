"""The report in words, for the terminal, and the words that every form shares."""
