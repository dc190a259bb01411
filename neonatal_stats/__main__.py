"""`python -m neonatal_stats` is the command line."""

from neonatal_stats.cli.start import main

if __name__ == "__main__":
    main()
