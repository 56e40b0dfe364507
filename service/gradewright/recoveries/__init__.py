"""Recovery: what of a thing is metal that pays: copper in cable, a metal by its density, precious metal."""
