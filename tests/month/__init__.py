"""A month at work: an invented group of workshops, events drawn at random, and books beside it."""
