"""The workshop: what is measured on the bench, what to turn, and what the joint then does."""
