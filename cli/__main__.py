"""`python -m tallstack.cli`."""

from tallstack.cli.app import main

if __name__ == "__main__":
    main()
