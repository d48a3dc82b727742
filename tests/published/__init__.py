"""Values from outside this project, one file per source; each header says how the source was read."""
