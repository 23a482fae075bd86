"""Pieces of the owner's pages about the shop's books."""
