"""Asking switches over SNMP; the one place that knows the SNMP library. Reads only."""
