"""Templates and solids of one design, or a refusal that names what collides."""
