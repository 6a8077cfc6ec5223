"""Many runs: what a strategy is worth against the others, against no system, against the best."""
