"""Lines: which are close, cross, run together, are joined, too short or too late."""
