"""The document for the job folder."""
