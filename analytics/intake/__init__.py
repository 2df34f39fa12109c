"""Files in, valid tables and a list of problems out. Knows no database."""
