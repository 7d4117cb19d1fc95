"""Rules about lines: open, doubled, crossing, stray."""
