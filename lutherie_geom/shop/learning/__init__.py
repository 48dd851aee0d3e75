"""Learn the instrument: what readings at known turns say about it, and what they leave open."""
