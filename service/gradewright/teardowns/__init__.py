"""Whether to sell whole or to take apart, and how far."""
