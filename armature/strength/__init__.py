"""Will it stand, and for how long: loads, forces, checks by clause, sizes, lifetime and the report."""
