"""The measuring room: facts of a sheet, or of all sheets of a drawing, by name (`facts.py`)."""
