"""A haul: which bins go to which yard, in which grade, on which trip."""
