"""The catalogue room: folders of drawings judged by workers, results kept, the cut list."""
