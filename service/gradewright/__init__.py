"""Gradewright: what a taken-apart find is worth, by local prices and a published rulebook."""
