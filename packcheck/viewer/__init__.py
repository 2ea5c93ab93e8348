"""Looking at the bay in a window. All but `window` is plain logic and needs no graphics at all."""
