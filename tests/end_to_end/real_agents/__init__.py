"""Agents that nobody here wrote, on links that the kernel keeps: the harness of these tests."""
