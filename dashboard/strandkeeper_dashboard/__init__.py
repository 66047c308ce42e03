"""The dashboard: reads the record, serves pages."""

from strandkeeper_dashboard.app import create_app

__all__ = ["create_app"]
