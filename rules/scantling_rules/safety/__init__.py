"""Rules about what must not be cut at all."""
