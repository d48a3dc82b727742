"""Inputs that nobody would type, by grammar and by coverage: no crash, no hang, no number that is none.

Figures, measured on two cores with CPython 3.11:

- fuzzing by grammar and by coverage, an hour and some minutes in all, 7,700 folders and 9,000 single files: five
  finds, all mended: a check and hot lash told of parts that cannot be put together, a ratio of next to nothing;
  limit: none left
- job files once more, 100 minutes, 24,000 folders: three, all mended: heat without a ratio, a direction as short as a
  step, a straight gap by a reading drawn past contact; limit: none left
- records, tables, crowns and what stood before among them, ten minutes, 450 folders, 900 commands: none
- requests to the bench page, 12 minutes, 1,000 folders, 12,000 requests, after four that were found in the first
  half minute: JSON too deep, half a letter, a number that is none, a part of a direction; limit: none left
- calls of a program, 22 minutes, 740 folders, 8,800 calls, the last 4,200 without a find: arguments that were no text, path, gear or word refused by
  name since, a lobe drawn where not all its lifts are known; limit: none left

Nothing may take longer than 5 s of a processor or 1 GB. Made out of the worked examples; what was ever found is in
`tests/faults/found_by_fuzzing/`, its commands in its first line.
"""
