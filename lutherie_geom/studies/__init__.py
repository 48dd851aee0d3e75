"""Studies: what errors at saw, router and drill press do to the readings. Nothing in ``theory`` or ``joint`` imports this."""
