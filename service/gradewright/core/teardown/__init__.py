"""A teardown: whole or apart, node by node."""
