"""What a survey found, in tables and words, and what to measure next."""
