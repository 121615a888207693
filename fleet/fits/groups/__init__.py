"""What comparisons and regressions are made of."""
