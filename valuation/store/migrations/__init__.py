"""How the store's tables came to be, one step a file; only forward."""
