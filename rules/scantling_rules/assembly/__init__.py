"""Rules about parts put together: layers, joints, published standards for the finished thing."""
