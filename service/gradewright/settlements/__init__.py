"""Scale tickets held against what was expected, kept for those who settled them; and how yards mark down."""
