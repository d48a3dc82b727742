"""Everything a person sees: commands, job files, tables. Holds no formula."""
