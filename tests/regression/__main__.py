"""Write the regression values anew."""

from tests.regression import HERE, JOBS, written

for name, job in JOBS.items():
    (HERE / f"{name}.txt").write_text(written(job), encoding="utf-8")
