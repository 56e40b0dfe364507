"""Postings, the ledger of their entries, and price lists."""
