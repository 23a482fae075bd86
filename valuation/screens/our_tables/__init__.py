"""What the page 'Our tables' is made of."""
