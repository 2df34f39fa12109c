"""What the soil did. Pure: arrays and records in, records out."""
