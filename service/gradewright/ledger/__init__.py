"""The ledger as a whole: its entries in order, the tree over them, and whether both still agree."""
