"""Pure functions on SI floats and arrays, each with its equation, units, range and source."""
