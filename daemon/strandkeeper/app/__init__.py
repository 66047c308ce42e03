"""Composition: start, stop, signals, scheduler, secrets."""
