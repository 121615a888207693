"""Maxima and limits of many Weibull likelihoods at once; the careful search for odd ones."""
