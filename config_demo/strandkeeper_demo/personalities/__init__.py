"""Invented switches that publish their optics each in another way, to try readers on."""
