"""Set-up day: what the gauges show, what is wanted, and what to turn."""
