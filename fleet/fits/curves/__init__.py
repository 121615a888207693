"""What survival curves without a distribution are made of."""
