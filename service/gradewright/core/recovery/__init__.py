"""A recovery: what of a thing is metal that pays, as a range."""
