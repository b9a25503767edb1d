package diag

// Code names a kind of problem in words that an author can say and search for.
type Code string
