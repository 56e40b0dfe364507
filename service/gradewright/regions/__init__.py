"""Where prices are compared: a tree of countries, subdivisions and localities."""
