"""The parts of the work screen: each turns the scene and a size into rows, and knows nothing else."""
