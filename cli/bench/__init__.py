"""The page at the bench: one folder of jobs, served to the browser of whoever works on them."""
