"""Rules about parts and drop-outs as pieces."""
