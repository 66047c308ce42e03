"""The configuration file: read, checked, explained; leaves as plain dataclasses."""
