"""What the daemon does, one job a file; the only place where the parts meet."""
