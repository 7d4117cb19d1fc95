"""The planning room: a drawing and a job sheet become sheets in mm at finished size."""
