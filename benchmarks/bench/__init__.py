"""A simulated bench that the tool cannot see into: see README.md."""
