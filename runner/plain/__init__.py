"""Line mode: a run by prompts, over the same engine and the same picture as the full screen."""
