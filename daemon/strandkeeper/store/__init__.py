"""The record file; the one place that speaks SQL."""
