"""What the shop's own evaluations and jobs teach."""
