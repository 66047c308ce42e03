"""Words of the domain, shared by every part. Pure dataclasses and enums."""
