"""Pages to take away: the same facts, words and pictures as on the screen, set for paper."""
