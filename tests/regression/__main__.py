"""Write the regression values anew."""

from tallstack.cli.guide.blank import blank_job

from tests.regression import BLANK, HERE, JOBS, written

for name, job in JOBS.items():
    (HERE / f"{name}.txt").write_text(written(job), encoding="utf-8")
BLANK.write_text(blank_job("mm"), encoding="utf-8")
