"""Storage: the declarative base, exact types, transactions, the ledger's counter and its migrations."""
