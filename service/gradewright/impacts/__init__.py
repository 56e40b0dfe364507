"""What a draft would change about the valuations that people have kept."""
