"""Arithmetic on arrays: it knows no farm, no file and no plot.

Ages are hours since birth, outcomes are small whole numbers (0 left alive, 1.. the causes), clusters are
whole numbers that name the litter (or the farm). Import the file you need, for example
``from neonatal_stats.estimates.survival import kaplan_meier``; nothing is imported here, so that a command
that needs one formula does not wait for all of them.
"""
