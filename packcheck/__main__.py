"""`python -m packcheck` is `packcheck`."""

from packcheck.cli.main import main

if __name__ == "__main__":
    main()
