"""Alerts: what becomes of a finding, and in which words. Pure."""
