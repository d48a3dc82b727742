"""Each screen's drawing: the engine in the pose that it is held in, with what is typed at its place."""
