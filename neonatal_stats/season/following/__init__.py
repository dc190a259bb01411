"""What follows from the records: seasons, litters, ages, outcomes, classes."""
