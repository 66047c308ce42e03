"""Prometheus metrics on their own address."""
