"""Rules about features: webs, gaps, holes, strokes, corners."""
