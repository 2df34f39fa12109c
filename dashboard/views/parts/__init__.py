"""The pieces that pages are composed of."""
