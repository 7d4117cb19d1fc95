"""mend: repairs of the source text, for findings that have one right repair.

A repair is a set of edits of characters; everything else of the drawing stays as it is, to the
byte. `repairs.py` lists the kinds, one module each, found by the id of the rule whose findings
they mend; `mender.py` makes, tries and applies them; `files.py` writes.
"""
