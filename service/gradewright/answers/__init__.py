"""Answers that name their pins: how they are encoded, kept, read and worked out again."""
