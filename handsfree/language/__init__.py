"""Words to numbers and back, spoken units, the phrase grammar, and matching."""
