"""The main job in its order: read, forecast, decide, judge."""
