"""The order of work: what locks which part in, what a cutter meets, how a key gets in."""
