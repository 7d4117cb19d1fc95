"""Rules about parts put together: layers, joints, and published standards for the finished thing."""
