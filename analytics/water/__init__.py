"""What to do about it. Pure: arrays and records in, records out."""
