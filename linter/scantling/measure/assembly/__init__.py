"""Assembly: what rests on what, what goes into what, and figures of single flat parts."""
