package store

// Claimable is the query that claims look with, for tests that ask how the engine reads it.
const Claimable = claimable
