"""Widths: webs, gaps, tips, limbs and corners of the solid, and of engraved areas."""
