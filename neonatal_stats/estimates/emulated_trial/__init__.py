"""What if all had been fed by a mark: a trial emulated by clones, censoring and weights."""
