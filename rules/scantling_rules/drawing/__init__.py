"""Rules about the drawing as a document: what is not geometry, and how big it is."""
