"""The set-up log beside the design, and what it says about the years."""
