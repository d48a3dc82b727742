"""The bench page: a job typed into a browser, served from the user's own machine."""
