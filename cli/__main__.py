"""`python -m tallstack.cli`."""

from .app import main

if __name__ == "__main__":
    main()
