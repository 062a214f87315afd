"""Results as plain data for programs, in SI units, with their schema."""
