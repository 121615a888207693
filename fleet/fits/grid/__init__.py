"""The posterior of one model on a grid: evidence, likelihood, weights and draws."""
