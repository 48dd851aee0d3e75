"""Before the box is closed: what to measure on the prototype, what it should read, and the verdict."""
