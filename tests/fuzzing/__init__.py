"""Inputs that nobody would type, by grammar and by coverage: no crash, no hang, no number that is none.

Figures, measured on two cores with CPython 3.11:

- fuzzing by grammar and by coverage, an hour and some minutes in all, 7,700 folders and 9,000 single files: five
  finds, all mended: a check and hot lash told of parts that cannot be put together, a ratio of next to nothing;
  limit: none left

Nothing may take longer than 5 s of a processor or 1 GB. Made out of the worked examples; what was ever found is in
`tests/faults/found_by_fuzzing/`, its commands in its first line.
"""
