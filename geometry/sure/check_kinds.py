"""What a check made on the bench can be of; what each foretells is in `bench_checks`."""

OF_TRAIN = ("pushrod", "valve lift", "valve lift at overlap", "clay", "drop", "stem tip")
OF_CYLINDER = ("deck", "port gap", "chamber")
KINDS = (*OF_TRAIN, *OF_CYLINDER)
