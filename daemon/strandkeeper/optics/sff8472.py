"""SFF-8472 module pages (A0h, A2h) in words and units."""
