"""Buyers with a scale: their terms, their own labels for grades, what they do not take."""
