"""What the soil did and what to do about it: intake, science, store and the program."""

__version__ = "0.1.0"
