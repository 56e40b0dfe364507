"""The rulebook's versions: read, checked, kept and compiled."""
