"""The invented station: plant, modules and switches that answer real SNMP."""
