"""Pieces: the faces of a sheet's cut lines, what is solid, their holes and how near they lie."""
