"""The document for the job folder: one model, rendered as a page for a screen and as a PDF for paper."""
