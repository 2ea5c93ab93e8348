"""`python -m packcheck` is `packcheck`."""

from packcheck.cli.start import main

if __name__ == "__main__":
    main()
