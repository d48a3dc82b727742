"""What a check made on the bench can be of; what each foretells is in `bench_checks`."""

OF_TRAIN = ("pushrod", "valve lift", "valve lift at overlap", "clay", "drop", "stem tip")
BETWEEN = "valve to valve"  # a feeler or wire between two heads at a crank angle
OF_CYLINDER = ("deck", "port gap", "chamber", BETWEEN)
KINDS = (*OF_TRAIN, *OF_CYLINDER)
