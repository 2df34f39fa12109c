"""The invented district and the generator that grows its record; no code of the science."""
