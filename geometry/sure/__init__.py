"""How sure the answers are: builds drawn, checks laid beside, what to read next, plan against as-built."""
