"""The pure core: standard library and NumPy only; no files, clock, screen or chance of its own."""
