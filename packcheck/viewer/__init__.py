"""Looking at the bay in a window. `window`, `picture`, `piece` and `board` draw; the rest is plain logic."""
