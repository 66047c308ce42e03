"""Optics: units, standard optics, budgets, module pages. Pure; knows nothing of the rest."""
