"""Jobs: what takes minutes is made in a process of its own, and its state is kept on disk."""
