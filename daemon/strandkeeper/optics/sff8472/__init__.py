"""SFF-8472: the two pages of a pluggable optic, from bytes to units and words."""

from strandkeeper.optics.sff8472.diagnostics import decode_diagnostics
from strandkeeper.optics.sff8472.dump import pages_from_bytes
from strandkeeper.optics.sff8472.identity import decode_identity
from strandkeeper.optics.sff8472.module import Module, decode_module

__all__ = ["Module", "decode_diagnostics", "decode_identity", "decode_module", "pages_from_bytes"]
