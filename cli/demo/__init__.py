"""The invented job that travels inside the installed package."""
