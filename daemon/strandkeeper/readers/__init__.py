"""Readers: an answer of a switch becomes a reading of a port. Pure."""
