"""Who may write: accounts, their roles and their keys."""
