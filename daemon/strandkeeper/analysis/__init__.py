"""Findings from series: margin, loss, drift, steps, causes. Pure; time is an argument."""
