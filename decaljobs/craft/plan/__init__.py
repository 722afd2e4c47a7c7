"""How the bench plan is made: work and hours, the search, and what is said of its result."""
