"""The dashboard: reads the record, serves pages."""
