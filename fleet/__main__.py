"""`python -m fleet` is the same as `fleet`."""

from fleet.cli import main

if __name__ == "__main__":
    main()
