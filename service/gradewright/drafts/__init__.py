"""Drafts of rulebook versions: written, checked, submitted, approved by a second maintainer, published."""
