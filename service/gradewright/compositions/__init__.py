"""What comes out of a kind of device, as members recorded it."""
