"""Curves over age and the tests between them: all from one table of counts by group, age and outcome."""
